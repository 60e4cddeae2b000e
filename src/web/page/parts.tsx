/** Parts that several screens are made of. */
import type { ComponentChildren, JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { PlantView, ScanView } from '../views.js';
import { type Logged, useApp, useQueue } from './app.js';
import type { QueueView } from './queue.js';
import { takeBack } from './recording.js';
import { goBack, goTo } from './screens.js';
import { descent, howInWords } from './words.js';

interface ScreenFrameProps {
  readonly title: string;
  /** The title is a plant's ID. */
  readonly isId?: boolean;
  readonly hasBack?: boolean;
  readonly children: ComponentChildren;
}

/** A whole screen: the bar, and below it what it is about. Its title is read out when it appears. */
export function ScreenFrame({
  title,
  isId = false,
  hasBack = true,
  children,
}: ScreenFrameProps): JSX.Element {
  const heading = useRef<HTMLHeadingElement>(null);
  // Before the next key can be pressed.
  useLayoutEffect(() => {
    document.title = `${title} · Pottag`;
    heading.current?.focus();
    scrollTo(0, 0);
  }, [title]);
  return (
    <>
      <header class="bar">
        {hasBack ? (
          <button type="button" class="back" onClick={goBack}>
            <span aria-hidden="true">‹ </span>Back
          </button>
        ) : (
          <button type="button" class="back" onClick={() => goTo({ name: 'about' })}>
            About
          </button>
        )}
        <QueueButton />
      </header>
      <main>
        <h1 ref={heading} tabIndex={-1} class={isId ? 'big-id' : ''}>
          {title}
        </h1>
        {children}
      </main>
    </>
  );
}

function QueueButton(): JSX.Element {
  const { waiting, state } = useQueue();
  const refused = waiting.filter(({ item }) => item.refusal !== null).length;
  const rest = waiting.length - refused;
  const text =
    refused > 0
      ? `${refused} ${refused === 1 ? 'needs' : 'need'} you`
      : rest > 0
        ? `${rest} waiting`
        : state === 'no-reception'
          ? 'No reception'
          : 'All saved';
  return (
    <button
      type="button"
      class={waiting.length > 0 ? 'queue is-waiting' : 'queue'}
      onClick={() => goTo({ name: 'waiting' })}
    >
      {text}
    </button>
  );
}

interface ActionProps {
  readonly kind?: 'main' | 'plain' | 'grave';
  readonly onClick: () => void;
  readonly children: ComponentChildren;
}

export function Action({ kind = 'plain', onClick, children }: ActionProps): JSX.Element {
  return (
    <button type="button" class={`action ${kind}`} onClick={onClick}>
      {children}
    </button>
  );
}

/** What tells the pot: ID, station, cross. */
export function PlantLabel({ plant }: { plant: PlantView }): JSX.Element {
  return (
    <span class="label">
      <span class="label-id">{plant.id}</span>
      <span>{descent(plant)}</span>
      <span>{plant.station ?? `key ${plant.key}`}</span>
    </span>
  );
}

/** From what a damaged tag was read and how surely, with the picture that shows why. */
export function ReadHow({ how }: { how: ScanView['how'] | undefined }): JSX.Element | null {
  const words = howInWords(how);
  if (how?.by !== 'ledger') return null;
  return (
    <div class="how">
      {words !== null && <p>{words}</p>}
      {how.why !== null && (
        <details>
          <summary>Show why</summary>
          <figure>
            <img src={how.why.picture} alt="The place that was looked at, squared up." />
            <figcaption>{how.why.caption}</figcaption>
          </figure>
        </details>
      )}
    </div>
  );
}

/** What a thumb presses, at the lower end of the screen. */
export function Low({ children }: { children: ComponentChildren }): JSX.Element {
  return <div class="low">{children}</div>;
}

/** What was recorded last, with the way to take it back; read out when it appears. */
export function LoggedBar({ id }: { id?: string }): JSX.Element {
  const { logged, setLogged, queue } = useApp();
  const view = useQueue();
  const bar = useRef<HTMLDivElement>(null);
  const own = logged !== null && (id === undefined || logged.id === id) ? logged : null;
  const doubt = own === null ? undefined : queue.doubtAbout(own.entry);
  const undo = () => {
    if (own === null) return;
    void takeBack({ queue }, own, () => setLogged({ ...own, isTakenBack: true }));
    bar.current?.focus(); // Its button goes away, and with it the place where the keyboard stood.
  };
  return (
    <div ref={bar} tabIndex={-1} class={own === null ? 'logged' : 'logged is-shown'}>
      <div role="status">
        {own !== null && (
          <p>
            <b>{stateOf(own, view)}:</b> {own.id} {own.words}
          </p>
        )}
        {doubt !== undefined && <p class="warning">{doubt}</p>}
      </div>
      {own !== null && !own.isTakenBack && (
        <button type="button" class="undo" onClick={undo}>
          Undo
        </button>
      )}
    </div>
  );
}

function stateOf({ entry, isTakenBack }: Logged, { waiting, state }: QueueView): string {
  if (isTakenBack) return 'Taken back';
  const kept = waiting.find(({ item }) => item.kind === 'observation' && item.sent.entry === entry);
  if (kept === undefined) return 'Saved';
  if (kept.item.refusal !== null) return 'Not recorded, needs you';
  return state === 'no-reception' ? 'Kept on this phone' : 'Sending';
}

/** Design, section 12. */
export function LatexCaution(): JSX.Element {
  return <p class="caution">Fig latex burns skin in sunlight: wear gloves when you cut, and wash.</p>;
}

export function TasteCaution(): JSX.Element {
  return (
    <p class="caution">
      Do not taste fruit of a plant sprayed within the product’s waiting period, nor of a species whose
      seedlings may be poisonous.
    </p>
  );
}
