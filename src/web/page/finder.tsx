/**
 * The three ways to say which plant: the live camera, a photo, the ID typed. What is found is the screen's
 * business.
 */
import type { JSX } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { EXAMPLE_IDS } from '../../ids/plant-id.js';
import type { ScanView } from '../views.js';
import { useApp } from './app.js';
import { Refused, Unreachable } from './ask.js';
import {
  type Camera,
  type CameraListener,
  comesIntoSightOfServer,
  hasCamera,
  startCamera,
} from './camera.js';
import { findByFrames, findByPhoto, findByText } from './finding.js';
import { PictureInput } from './picture-input.js';
import { startReader } from './reading.js';

/** Once wanted, the camera starts by itself when the screen comes back. */
let isCameraWanted = false;

/** What is taken, or answered with what to say of it. */
export interface FinderProps<Found> {
  readonly byText: (text: string) => Promise<string | undefined>;
  readonly readPhoto: (photo: Blob) => Promise<Found>;
  /** What was found without anyone asking for it, in pictures that the camera took where it read nothing. */
  readonly ofScans: (scans: readonly ScanView[]) => Found;
  /** Not called for pictures that are read only after the screen was left. */
  readonly take: (found: Found) => Promise<string | undefined>;
  /** Of the field to type in. */
  readonly label: string;
  /** Of what can be typed; an ID if it is left out. */
  readonly example?: string | undefined;
  readonly photoLabel: string;
}

export const NOTHING_READ =
  'Nothing could be read. Take it again: closer, sharper, without glare; or type it.';

/** Finds what plant a tag means. */
export function PlantFinder({ onFound }: { onFound: (scans: readonly ScanView[]) => void }): JSX.Element {
  const { garden } = useApp();
  const take = async (scans: readonly ScanView[]) => {
    if (scans.length === 0) return NOTHING_READ;
    onFound(scans);
    return undefined;
  };
  return (
    <Finder
      label="ID on the tag, ? for each character you cannot read"
      photoLabel="Photo of the tag"
      byText={async (text) => take([await findByText(text, garden)])}
      readPhoto={(photo) => findByPhoto(photo, garden)}
      ofScans={(scans) => scans}
      take={take}
    />
  );
}

export function Finder<Found>(props: FinderProps<Found>): JSX.Element {
  const { byText, readPhoto, ofScans, take, label, example, photoLabel } = props;
  const { device } = useApp();
  const [typed, setTyped] = useState('');
  const [message, setMessage] = useState('');
  const [isBusy, setBusy] = useState(false);

  const isShown = useRef(true);
  useEffect(() => {
    startReader().catch(() => {}); // While there is reception, and before the first tag.
    return () => {
      isShown.current = false;
    };
  }, []);

  /** Whether it was taken. */
  const find = async (looking: Promise<string | undefined>): Promise<boolean> => {
    setBusy(true);
    setMessage('');
    try {
      const said = await looking;
      setMessage(said ?? '');
      return said === undefined;
    } catch (error) {
      setMessage(troubleIn(error));
      return false;
    } finally {
      setBusy(false);
    }
  };

  const byPhoto = async (photo: Blob) => {
    const found = await readPhoto(photo);
    return isShown.current ? take(found) : undefined;
  };

  /** Goes on in silence where nothing is found. */
  const readFrames = async (frames: readonly Blob[]) => {
    setMessage('No code can be read. Looking at what is left of it …');
    const scans = await findByFrames(frames).catch(() => []);
    if (!isShown.current) return;
    setMessage('');
    // One that was seen before counts for whose picture it is, too.
    const fresh = scans.filter((scan) => comesIntoSightOfServer(nameOf(scan)));
    if (fresh.length > 0) await find(take(ofScans(scans)));
  };
  return (
    <div class="low">
      {hasCamera() && <CameraView onText={(text) => void find(byText(text))} onStuck={readFrames} />}
      <PictureInput label={photoLabel} onPicture={(file) => void find(byPhoto(file))} />
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const text = typed.trim();
          if (text === '') return;
          // What was typed meanwhile stays, and so does what was not taken.
          void find(byText(text)).then((isTaken) => {
            if (isTaken) setTyped((now) => (now.trim() === text ? '' : now));
          });
        }}
      >
        <label for="typed">{label}</label>
        <div class="row">
          <input
            id="typed"
            value={typed}
            onInput={({ currentTarget }) => setTyped(currentTarget.value)}
            placeholder={example ?? EXAMPLE_IDS[device.idLength]}
            autocomplete="off"
            autocapitalize="characters"
            spellcheck={false}
            enterkeyhint="go"
          />
          <button type="submit" class="action main">
            Find
          </button>
        </div>
      </form>
      <p role="status" class="message">
        {isBusy ? 'Looking …' : message}
      </p>
    </div>
  );
}

/** By what a damaged tag is known again: the plants that it may be of. */
function nameOf({ text, candidates }: ScanView): string {
  return [text, ...candidates.map(({ plant }) => plant.id)].join(' ');
}

function CameraView({ onText, onStuck }: Pick<CameraListener, 'onText' | 'onStuck'>): JSX.Element {
  const video = useRef<HTMLVideoElement>(null);
  const [isOn, setOn] = useState(isCameraWanted);
  const [problem, setProblem] = useState('');
  const tell = useRef({ onText, onStuck });
  tell.current = { onText, onStuck };

  useEffect(() => {
    if (!isOn || video.current === null) return;
    let camera: Camera | undefined;
    let isGone = false;
    const giveUp = () => {
      setProblem('The camera cannot be used now. Allow it for this page, or take a photo.');
      setOn(false);
    };
    const listener: CameraListener = {
      onText: (text) => tell.current.onText(text),
      onStuck: (frames) => tell.current.onStuck(frames),
      onTrouble: giveUp,
    };
    startCamera(video.current, listener).then((started) => {
      camera = started;
      if (isGone) started.stop();
    }, giveUp);
    return () => {
      isGone = true;
      camera?.stop();
    };
  }, [isOn]);

  const turn = (on: boolean) => {
    isCameraWanted = on;
    setProblem('');
    setOn(on);
  };
  return (
    <div>
      <video ref={video} class={isOn ? 'camera is-on' : 'camera'} playsInline muted aria-label="Camera" />
      <button type="button" class={isOn ? 'action plain' : 'action main'} onClick={() => turn(!isOn)}>
        {isOn ? 'Stop the camera' : 'Scan with the camera'}
      </button>
      {problem !== '' && <p role="alert">{problem}</p>}
    </div>
  );
}

function troubleIn(error: unknown): string {
  if (error instanceof Refused) return `${error.message} ${error.hint}`;
  if (error instanceof Unreachable)
    return `${error.message} Nothing was lost; try again where there is reception.`;
  return 'This picture could not be opened. Take it again.';
}
