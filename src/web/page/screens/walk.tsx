import type { JSX } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { readSign } from '../../../codes/station-sign.js';
import { knownStations, stationNamed } from '../../../walk/lines.js';
import type { PlantView } from '../../views.js';
import { useApp } from '../app.js';
import { Finder, NOTHING_READ } from '../finder.js';
import { type Said, saidBy, saidByPhoto } from '../finding.js';
import { Action, ScreenFrame } from '../parts.js';
import { problemIn } from '../recording.js';
import { type Asked, goBack, goTo } from '../screens.js';
import { isPot, nextStation, standingOf, stationCount, stationLine, stationsIn } from '../walking.js';
import { UnresolvedScreen } from './unresolved.js';

const KEPT_AS = 'walk';

/** Station after station, and what stands there. The lines are kept on the phone as they come. */
export function WalkScreen({ asked }: { asked: Asked | undefined }): JSX.Element {
  const { store, queue, garden, device } = useApp();
  const [lines, setLines] = useState<readonly string[]>();
  /** The truth, also for scans that come faster than the screen is drawn. */
  const latest = useRef<readonly string[]>([]);
  useEffect(() => {
    void store.read<readonly string[]>(KEPT_AS).then((kept) => {
      latest.current = kept ?? [];
      setLines(latest.current);
    });
  }, [store]);
  if (lines === undefined) return <ScreenFrame title="A walk">Looking …</ScreenFrame>;

  const { station, said } = standingOf(lines);
  const stations = stationsIn(garden);
  const next = nextStation(stations, station);
  const keep = async (changed: readonly string[]) => {
    latest.current = changed;
    await store.write(KEPT_AS, changed);
    setLines(latest.current); // What is shown would survive a reload.
  };
  /** What to say of a line that cannot be taken now. */
  const whyNot = (text: string): string | undefined => {
    const now = standingOf(latest.current);
    if (readSign(text) !== undefined) return undefined;
    if (now.station === null)
      return 'Say first at which station you stand. If none of your plants stood there yet, type "station" and its name.';
    return now.said.length > 0 && isPot(text, device.idLength)
      ? 'Something stands here already. Next, or undo.'
      : undefined;
  };
  const take = async (text: string): Promise<string | undefined> => {
    const named = stationNamed(text, knownStations(stations), device.idLength);
    const line = named === undefined ? text : stationLine(named);
    const problem = whyNot(line);
    if (problem !== undefined) return problem;
    navigator.vibrate?.(40);
    await keep([...latest.current, line]);
    return undefined;
  };
  /** An offered tag is none yet: a person says whose it is. */
  const takeSaid = async ({ texts, offered }: Said): Promise<string | undefined> => {
    // `station` is the one where the picture was taken.
    if (standingOf(latest.current).station !== station)
      return 'You went on before this picture was read: it is left out.';
    const [text, scan] = [texts[0], offered[0]];
    if (texts.length + offered.length > 1) return 'The picture shows several codes. Take one at a time.';
    if (text !== undefined) return take(text);
    const likeliest = scan?.candidates[0];
    if (scan === undefined || likeliest === undefined) return NOTHING_READ;
    const problem = whyNot(likeliest.plant.id);
    if (problem === undefined) goTo({ name: 'walk', asked: { station, scan } });
    return problem;
  };
  const end = async () => {
    await queue.walk(lines);
    await keep([]);
    goBack();
  };
  const answer = async (plant: PlantView) => {
    if ((await take(plant.id)) === undefined) goBack();
  };
  // One that was left without an answer may come back by the phone's own buttons, at another station.
  if (asked !== undefined && asked.station === station && said.length === 0)
    return <UnresolvedScreen scan={asked.scan} onPlant={(plant) => void answer(plant)} />;
  const isOpen = station !== null;
  const visited = stationCount(lines);
  return (
    <ScreenFrame title={station ?? 'A walk along the benches'}>
      <div role="status">
        {isOpen ? (
          <p>
            {said.length === 0 ? 'What stands here?' : <b>{said.map(inWords).join(', ')}</b>}{' '}
            <span class="small">{visited === 1 ? '1 station' : `${visited} stations`} so far.</span>
          </p>
        ) : (
          <p>Say at which station you stand, then what stands there; then the next.</p>
        )}
      </div>
      {next !== undefined && (said.length > 0 || !isOpen) && (
        <Action kind="main" onClick={() => void take(stationLine(next))}>
          Next: {next}
        </Action>
      )}
      {said.length > 0 && (
        <>
          <TraitField trait="height" label="Height of the plant, cm" inputMode="decimal" onLine={take} />
          <TraitField trait="leaf" label="Form of its leaves" inputMode="text" onLine={take} />
        </>
      )}
      <Finder
        label={isOpen ? 'Tag here, or the next station' : 'Station, as on its sign'}
        example={isOpen ? undefined : (next ?? 'bench 2 / row 3 / 7')}
        photoLabel="Photo of a tag or sign"
        byText={take}
        readPhoto={saidByPhoto}
        ofScans={saidBy}
        take={takeSaid}
      />
      {isOpen && said.length === 0 && (
        <div class="grid">
          <Action onClick={() => void take('none')}>No tag</Action>
          <Action onClick={() => void take('empty')}>No pot</Action>
        </div>
      )}
      {lines.length > 0 && (
        <div class="grid">
          <Action onClick={() => void keep(latest.current.slice(0, -1))}>
            Undo: {inWords(lines.at(-1) ?? '')}
          </Action>
          <Action onClick={() => void end()}>End and send</Action>
        </div>
      )}
    </ScreenFrame>
  );
}

function inWords(line: string): string {
  const station = readSign(line);
  if (station !== undefined) return `station ${station}`;
  return line === 'none' ? 'a pot without a tag' : line === 'empty' ? 'no pot' : line;
}

interface TraitFieldProps {
  readonly trait: string;
  readonly label: string;
  readonly inputMode: 'decimal' | 'text';
  readonly onLine: (line: string) => Promise<unknown>;
}

function TraitField({ trait, label, inputMode, onLine }: TraitFieldProps): JSX.Element {
  const [value, setValue] = useState('');
  const [problem, setProblem] = useState('');
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        const wrong = problemIn({ [trait]: value.trim() });
        setProblem(wrong ?? '');
        if (wrong !== null) return;
        void onLine(`${trait}: ${value.trim()}`);
        setValue('');
      }}
    >
      <label for={trait}>{label}</label>
      <div class="row">
        <input
          id={trait}
          inputMode={inputMode}
          autocomplete="off"
          value={value}
          onInput={({ currentTarget }) => setValue(currentTarget.value)}
        />
        <button type="submit" class="action plain">
          Add {trait}
        </button>
      </div>
      <p role="alert" class="problem">
        {problem}
      </p>
    </form>
  );
}
