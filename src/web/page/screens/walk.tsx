import type { JSX } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { readSign } from '../../../codes/station-sign.js';
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
  const next = nextStation(stationsIn(garden), station);
  const keep = async (changed: readonly string[]) => {
    latest.current = changed;
    await store.write(KEPT_AS, changed);
    setLines(latest.current); // What is shown would survive a reload.
  };
  /** What to say of a line that cannot be taken now. */
  const whyNot = (text: string): string | undefined => {
    const now = standingOf(latest.current);
    if (readSign(text) !== undefined) return undefined;
    if (now.station === null) return 'Say first at which station you stand.';
    return now.said.length > 0 && isPot(text, device.idLength)
      ? 'Something stands here already. Next, or undo.'
      : undefined;
  };
  const take = async (text: string): Promise<string | undefined> => {
    const problem = whyNot(text);
    if (problem !== undefined) return problem;
    navigator.vibrate?.(40);
    await keep([...latest.current, text]);
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
      {said.length > 0 && <HeightField onHeight={(height) => void take(`height ${height}`)} />}
      <Finder
        label={isOpen ? 'Tag here, or: station and its name' : 'station and its name, as on its sign'}
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

function HeightField({ onHeight }: { onHeight: (height: string) => void }): JSX.Element {
  const [height, setHeight] = useState('');
  const [problem, setProblem] = useState('');
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        const wrong = problemIn({ height: height.trim() });
        setProblem(wrong ?? '');
        if (wrong !== null) return;
        onHeight(height.trim());
        setHeight('');
      }}
    >
      <label for="height">Height of the plant, cm</label>
      <div class="row">
        <input
          id="height"
          inputMode="decimal"
          autocomplete="off"
          value={height}
          onInput={({ currentTarget }) => setHeight(currentTarget.value)}
        />
        <button type="submit" class="action plain">
          Add
        </button>
      </div>
      <p role="alert" class="problem">
        {problem}
      </p>
    </form>
  );
}
