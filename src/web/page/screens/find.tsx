import type { JSX } from 'preact';
import { onePlantIn } from '../../../scan/one-plant.js';
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
  const { tag, whyNot } = onePlantIn(scans);
  if (tag !== null) return { name: 'plant', plant: tag.plant, issue: tag.issue, how: tag.how };
  const [scan, ...more] = scans;
  return scan === undefined || more.length > 0
    ? { name: 'choose', scans, whyNot }
    : { name: 'unresolved', scan };
}
