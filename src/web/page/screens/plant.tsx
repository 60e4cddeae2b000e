import type { JSX } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { seenInWords } from '../../../observe/observation.js';
import type { ObservationView, RecordView, TypeView } from '../../views.js';
import { useApp, useQueue } from '../app.js';
import { ask } from '../ask.js';
import { Action, LoggedBar, ReadHow, ScreenFrame } from '../parts.js';
import { today, type Waiting } from '../queue.js';
import { record, takeBack, type Values } from '../recording.js';
import { type Found, goTo } from '../screens.js';
import { ageOn, descent, typeInWords } from '../words.js';

const WOOD = ['new', 'old'] as const;
const POLLEN = ['none', 'hand', 'open'] as const;

export function PlantScreen(found: Found): JSX.Element {
  const { plant } = found;
  const app = useApp();
  const { waiting, state } = useQueue();
  const [kept, setKept] = useState<RecordView | 'unreachable'>();
  const [type, setType] = useState<TypeView>();
  const [wood, setWood] = useState('');
  const [pollination, setPollination] = useState('');

  // Asked for again whenever something of it has been sent.
  const ownWaiting = waiting.filter(({ item }) => waitingFor(item) === plant.id);
  useEffect(() => {
    let isCurrent = true;
    const show = async () => {
      const record = await ask<RecordView>(`/api/plants/${plant.id}`).catch(() => 'unreachable' as const);
      if (isCurrent) setKept(record);
      const judged = await ask<TypeView>(`/api/plants/${plant.id}/type`).catch(() => undefined);
      if (isCurrent) setType(judged);
    };
    void show();
    return () => {
      isCurrent = false;
    };
  }, [plant.id, ownWaiting.length, state === 'no-reception']);

  const fruit = (value: string) => {
    const on: Values = { ...(wood && { wood }), ...(pollination && { pollination }) };
    void record(app, found, { fruit: value, ...on });
  };
  return (
    <ScreenFrame title={plant.id} isId>
      <ReadHow how={found.how} />
      <Facts found={found} kept={kept} type={type} />
      <LoggedBar id={plant.id} />
      <div class="grid">
        <Action onClick={() => fruit('set')}>Fruit set</Action>
        <Action onClick={() => fruit('ripe')}>Ripe</Action>
        <Action onClick={() => fruit('dropped')}>Dropped</Action>
        <Action onClick={() => goTo({ name: 'cut', ...found })}>Cut open …</Action>
        <Action onClick={() => goTo({ name: 'taste', ...found })}>Tasted …</Action>
        <Action onClick={() => goTo({ name: 'note', ...found })}>Note …</Action>
      </div>
      <details>
        <summary>
          On which wood, what pollen
          {wood || pollination ? `: ${[wood, pollination].filter(Boolean).join(', ')}` : ''}
        </summary>
        <Choice
          name="wood"
          legend="Wood, for the next fruit"
          values={WOOD}
          chosen={wood}
          onChoose={setWood}
        />
        <Choice
          name="pollination"
          legend="Pollen"
          values={POLLEN}
          chosen={pollination}
          onChoose={setPollination}
        />
      </details>
      <Seen found={found} kept={kept} />
      <MoreFacts found={found} kept={kept} type={type} />
      {(kept === undefined || kept === 'unreachable' ? plant : kept.plant).ended === null ? (
        <Action kind="grave" onClick={() => goTo({ name: 'ended', ...found })}>
          Not alive …
        </Action>
      ) : (
        <Action onClick={() => void record(app, found, { alive: 'yes' })}>It shoots again: alive</Action>
      )}
    </ScreenFrame>
  );
}

/** The plant that something waits for. */
function waitingFor(item: Waiting): string | undefined {
  if (item.kind === 'walk') return undefined;
  return item.kind === 'observation' ? item.sent.id : item.id;
}

interface PartProps {
  readonly found: Found;
  readonly kept: RecordView | 'unreachable' | undefined;
}

interface FactsProps extends PartProps {
  readonly type: TypeView | undefined;
}

function Facts({ found, kept, type }: FactsProps): JSX.Element {
  // As the server has it now, if it could be asked.
  const plant = kept === undefined || kept === 'unreachable' ? found.plant : kept.plant;
  const age = plant.sown === null ? null : ageOn(today(), plant.sown);
  return (
    <>
      <dl>
        <Fact name={plant.cross === null ? 'Kind' : 'Cross'} value={descent(plant)} />
        <Fact name="Stands" value={plant.station} />
        <Fact name="Age" value={age === null ? plant.sown : `${age} (sown ${plant.sown})`} />
        <Fact name="Type" value={type === undefined ? null : typeInWords(type)} />
      </dl>
      {plant.ended !== null && <p class="warning">Ended {plant.ended}. Is it the right plant?</p>}
      {kept === 'unreachable' && <p class="warning">No reception: what was seen before is not shown.</p>}
    </>
  );
}

function MoreFacts({ found: { plant }, kept, type }: FactsProps): JSX.Element {
  const record = kept === 'unreachable' ? undefined : kept;
  return (
    <dl>
      <Fact name="Key" value={plant.key} />
      <Fact name="Note" value={record?.note ?? null} />
      <Fact name="Type" value={type?.toSettle == null ? null : `to settle it, ${type.toSettle}`} />
    </dl>
  );
}

function Fact({ name, value }: { name: string; value: string | null }): JSX.Element | null {
  return value === null ? null : (
    <div>
      <dt>{name}</dt>
      <dd>{value}</dd>
    </div>
  );
}

interface ChoiceProps {
  readonly name: string;
  readonly legend: string;
  readonly values: readonly string[];
  readonly chosen: string;
  readonly onChoose: (value: string) => void;
}

/** One of a few, or none said. */
export function Choice({ name, legend, values, chosen, onChoose }: ChoiceProps): JSX.Element {
  return (
    <fieldset class="choice">
      <legend>{legend}</legend>
      {['', ...values].map((value) => (
        <label key={value}>
          <input type="radio" name={name} checked={chosen === value} onChange={() => onChoose(value)} />
          <span>{value || 'not said'}</span>
        </label>
      ))}
    </fieldset>
  );
}

function Seen({ found: { plant }, kept }: PartProps): JSX.Element {
  const { waiting } = useQueue();
  const mine = waiting.flatMap(({ item }) =>
    item.kind === 'observation' && item.sent.id === plant.id ? [item] : [],
  );
  const taken = new Set(waiting.flatMap(({ item }) => (item.kind === 'withdrawal' ? [item.entry] : [])));
  const observations = kept === undefined || kept === 'unreachable' ? [] : kept.observations;
  const standing = observations.filter(({ entry }) => !taken.has(entry));
  const isEmpty = mine.length === 0 && standing.length === 0;
  return (
    <section aria-labelledby="seen">
      <h2 id="seen">Seen</h2>
      {isEmpty && <p>{nothingSeen(kept)}</p>}
      <ul class="seen">
        {mine.map(({ sent, hasPhoto }) => (
          <li key={sent.entry}>
            {sent.date} {seenInWords({ values: sent.values, photo: null })} {hasPhoto && 'photo'}{' '}
            <b>{taken.has(sent.entry) ? 'to be taken back' : 'waiting'}</b>
          </li>
        ))}
        {standing.map((observation) => (
          <SeenRow key={observation.entry} id={plant.id} observation={observation} />
        ))}
      </ul>
    </section>
  );
}

function nothingSeen(kept: PartProps['kept']): string {
  if (kept === undefined) return 'Looking …';
  return kept === 'unreachable' ? 'Nothing on this phone.' : 'Nothing yet.';
}

/** An observation, with a way to take it back that a slip of the thumb does not go. */
function SeenRow({ id, observation }: { id: string; observation: ObservationView }): JSX.Element {
  const { queue } = useApp();
  const [isAsked, setAsked] = useState(false);
  const { entry, date, values, photo, by } = observation;
  const words = seenInWords({ values, photo: null });
  return (
    <li>
      <div class="seen-row">
        <span>
          {date} <b>{words || 'photo'}</b> <span class="small">by {by}</span>
        </span>
        <button type="button" aria-expanded={isAsked} onClick={() => setAsked(!isAsked)}>
          {isAsked ? 'Keep' : 'Undo'}
        </button>
      </div>
      {photo !== null && <img src={`/api/photos/${photo}`} alt={`Seen on ${date}`} loading="lazy" />}
      {isAsked && (
        <Action kind="grave" onClick={() => void takeBack({ queue }, { entry, id, words })}>
          Take it back: {words || 'photo'}
        </Action>
      )}
    </li>
  );
}
