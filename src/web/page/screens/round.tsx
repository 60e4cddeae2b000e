import type { JSX } from 'preact';
import { useRef, useState } from 'preact/hooks';
import type { ScanView } from '../../views.js';
import { type Logged, type Round, useApp } from '../app.js';
import { PlantFinder } from '../finder.js';
import { Action, LatexCaution, ScreenFrame } from '../parts.js';
import { inWords, keep, takeBack, type Values } from '../recording.js';
import { goTo } from '../screens.js';
import { screenFor } from './find.js';
import { Choice } from './plant.js';

const WHAT: readonly (readonly [label: string, values: Values])[] = [
  ['Fruit set', { fruit: 'set' }],
  ['Ripe', { fruit: 'ripe' }],
  ['Dropped', { fruit: 'dropped' }],
  ['Cut open: pulp', { inside: 'pulp' }],
  ['Cut open: stamens', { inside: 'stamens' }],
  ['Cut open: dry', { inside: 'dry' }],
  ['Struck by frost', { weather: 'frost' }],
];

/** Scan after scan with the same observation. */
export function RoundScreen(): JSX.Element {
  const { round } = useApp();
  return round === null ? <Setup /> : <Running round={round} />;
}

function Setup(): JSX.Element {
  const { setRound } = useApp();
  const [wood, setWood] = useState('');
  const begin = (values: Values) => {
    const all = { ...values, ...(wood && 'fruit' in values && { wood }) };
    setRound(() => ({ values: all, words: inWords(all), done: [] }));
  };
  return (
    <ScreenFrame title="The same for many plants">
      <p>Each plant that you scan is recorded at once with</p>
      <Choice
        name="wood"
        legend="Wood that bears the fruit"
        values={['new', 'old']}
        chosen={wood}
        onChoose={setWood}
      />
      <div class="grid">
        {WHAT.map(([label, values]) => (
          <Action key={label} onClick={() => begin(values)}>
            {label}
          </Action>
        ))}
      </div>
      <LatexCaution />
    </ScreenFrame>
  );
}

function Running({ round }: { round: Round }): JSX.Element {
  const { queue, setRound } = useApp();
  const [message, setMessage] = useState('');
  const { values, words, done } = round;
  /** IDs in this round, also of scans that come faster than the screen is drawn. */
  const taken = useRef(new Set(done.map(({ id }) => id)));

  const found = async (scans: readonly ScanView[]) => {
    const screen = screenFor(scans);
    if (screen.name !== 'plant') return goTo(screen);
    const { plant, issue } = screen;
    if (taken.current.has(plant.id)) {
      setMessage(`${plant.id} is in this round already.`);
      return;
    }
    taken.current.add(plant.id);
    const logged = await keep({ queue }, { plant, issue }, values, null);
    if (logged === null) {
      taken.current.delete(plant.id);
      return;
    }
    setMessage('');
    setRound((now) => (now === null ? null : { ...now, done: [logged, ...now.done] }));
  };
  const undo = (logged: Logged) => {
    void takeBack({ queue }, logged, () => {
      taken.current.delete(logged.id);
      setRound((now) =>
        now === null ? null : { ...now, done: now.done.filter(({ entry }) => entry !== logged.entry) },
      );
      setMessage(`${logged.id} taken back.`);
    });
  };
  const [last] = done;
  return (
    <ScreenFrame title={`Each scan: ${words}`}>
      <div role="status" class="round">
        {last === undefined ? (
          <p>Scan the first plant.</p>
        ) : (
          <p>
            <span class="label-id">{last.id}</span> recorded; {done.length} in this round.
          </p>
        )}
        <p>{message}</p>
      </div>
      {last !== undefined && (
        <button type="button" class="undo" onClick={() => undo(last)}>
          Undo {last.id}
        </button>
      )}
      <PlantFinder onFound={(scans) => void found(scans)} />
      <Action onClick={() => setRound(() => null)}>End this round</Action>
    </ScreenFrame>
  );
}
