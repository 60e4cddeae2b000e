import type { JSX } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { readSign } from '../../../codes/station-sign.js';
import type { ScanView } from '../../views.js';
import { useApp } from '../app.js';
import { Finder, NOTHING_READ } from '../finder.js';
import { textsInPhoto } from '../finding.js';
import { Action, ScreenFrame } from '../parts.js';
import { problemIn } from '../recording.js';
import { goBack } from '../screens.js';
import { isPot, nextStation, standingOf, stationCount, stationLine, stationsIn } from '../walking.js';

const KEPT_AS = 'walk';

/** Station after station, and what stands there. The lines are kept on the phone as they come. */
export function WalkScreen(): JSX.Element {
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
  const take = async (text: string): Promise<string | undefined> => {
    const now = standingOf(latest.current);
    if (readSign(text) === undefined) {
      if (now.station === null) return 'Say first at which station you stand.';
      if (now.said.length > 0 && isPot(text, device.idLength))
        return 'Something stands here already. Next, or undo.';
    }
    navigator.vibrate?.(40);
    await keep([...latest.current, text]);
    return undefined;
  };
  const takePhoto = async (photo: Blob): Promise<string | undefined> => {
    const [text, ...more] = await textsInPhoto(photo);
    if (text === undefined) return NOTHING_READ;
    return more.length > 0 ? 'The photo shows several codes. Take one at a time.' : take(text);
  };
  /** An offered one is none yet: here it has no screen to be confirmed on. */
  const takeScans = async (scans: readonly ScanView[]): Promise<string | undefined> => {
    const [scan, ...more] = scans;
    if (scan?.text == null || scan.plant === null || more.length > 0)
      return 'Take a photo of the tag, or type it.';
    return take(scan.text);
  };
  const end = async () => {
    await queue.walk(lines);
    await keep([]);
    goBack();
  };
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
        byPhoto={takePhoto}
        byScans={takeScans}
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
