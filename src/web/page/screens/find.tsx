import type { JSX } from 'preact';
import type { ScanView } from '../../views.js';
import { useApp } from '../app.js';
import { PlantFinder } from '../finder.js';
import { Action, LoggedBar, ScreenFrame } from '../parts.js';
import { goTo, type Screen } from '../screens.js';

export function FindScreen(): JSX.Element {
  const { setLogged } = useApp();
  const found = (scans: readonly ScanView[]) => {
    setLogged(null);
    goTo(screenFor(scans));
  };
  return (
    <ScreenFrame title="Which plant?" hasBack={false}>
      <PlantFinder onFound={found} />
      <LoggedBar />
      <div class="grid">
        <Action onClick={() => goTo({ name: 'round' })}>Many alike …</Action>
        <Action onClick={() => goTo({ name: 'walk' })}>A walk …</Action>
      </div>
    </ScreenFrame>
  );
}

/** One plant's current tag leads to the plant; anything less certain to a screen of its own. */
export function screenFor(scans: readonly ScanView[]): Screen {
  const [scan, ...more] = scans;
  if (scan === undefined || more.length > 0) return { name: 'choose', scans };
  const { plant, issue, status, how } = scan;
  return status === 'current' && plant !== null
    ? { name: 'plant', plant, issue, how }
    : { name: 'unresolved', scan };
}
