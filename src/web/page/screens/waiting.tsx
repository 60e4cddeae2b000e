import type { JSX } from 'preact';
import { useApp, useQueue } from '../app.js';
import { Action, ScreenFrame } from '../parts.js';
import { today, type Waiting } from '../queue.js';
import { inWords } from '../recording.js';
import type { Kept } from '../store.js';
import { stationCount } from '../walking.js';

export function WaitingScreen(): JSX.Element {
  const { queue } = useApp();
  const { waiting, state, trouble } = useQueue();
  const refused = waiting.filter(({ item }) => item.refusal !== null);
  const others = waiting.filter(({ item }) => item.refusal === null);
  return (
    <ScreenFrame title={waiting.length === 0 ? 'All is saved' : 'Waiting on this phone'}>
      {waiting.length === 0 && <p>Nothing waits on this phone; the computer has it all.</p>}
      {refused.length > 0 && <h2>Needs you</h2>}
      {refused.map((kept) => (
        <RefusedItem key={kept.key} kept={kept} />
      ))}
      {others.length > 0 && (
        <>
          <h2>To be sent, in this order</h2>
          <ol class="seen">
            {others.map(({ key, item }) => (
              <li key={key}>{itemInWords(item)}</li>
            ))}
          </ol>
          <p>
            {state === 'no-reception'
              ? `${trouble ?? ''} It is tried again by itself, also after a reload of this page.`
              : 'It is being sent.'}
          </p>
          {!('serviceWorker' in navigator) && (
            <p class="warning">
              Keep this page open until all is sent: without https the browser cannot start it where there is
              no reception. What waits is kept even so.
            </p>
          )}
          <Action kind="main" onClick={() => void queue.flush()}>
            Try now
          </Action>
        </>
      )}
    </ScreenFrame>
  );
}

/** Why it was not recorded, and every way out. */
function RefusedItem({ kept }: { kept: Kept<Waiting> }): JSX.Element {
  const { queue } = useApp();
  const { item } = kept;
  const { code, message, hint } = item.refusal ?? { code: '', message: '', hint: '' };
  const isOldTag = /^tag-(superseded|void|unissued)$/.test(code) && item.kind === 'observation';
  const isTaken = code === 'entry-taken';
  const isDate = /date|before-sowing/.test(code);
  return (
    <section class="refused">
      <p>
        <b>{itemInWords(item)}</b>
      </p>
      <p>
        {message} {hint}
      </p>
      {isOldTag && (
        <Action onClick={() => void queue.retry(kept, { issue: null })}>
          It was {item.sent.id}: record it
        </Action>
      )}
      {isDate && (
        <Action onClick={() => void queue.retry(kept, { date: today() })}>It was today: record it</Action>
      )}
      {isTaken && <Action onClick={() => void queue.recordAnew(kept)}>It was seen as well: record it</Action>}
      {!isOldTag && !isDate && !isTaken && <Action onClick={() => void queue.retry(kept)}>Try again</Action>}
      <Action kind="grave" onClick={() => void queue.drop(kept)}>
        Leave it out for good
      </Action>
    </section>
  );
}

function itemInWords(item: Waiting): string {
  if (item.kind === 'walk') return `Walk of ${item.sent.date}: ${stationCount(item.sent.lines)} stations`;
  if (item.kind === 'withdrawal') return `${item.id}: take back ${item.words}`;
  const { sent, hasPhoto } = item;
  return `${sent.id}, ${sent.date}: ${inWords(sent.values, hasPhoto)}`;
}
