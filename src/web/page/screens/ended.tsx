import type { JSX } from 'preact';
import { useApp } from '../app.js';
import { Action, Low, PlantLabel, ScreenFrame } from '../parts.js';
import { record } from '../recording.js';
import { type Found, goBack } from '../screens.js';

export function EndedScreen(found: Found): JSX.Element {
  const app = useApp();
  return (
    <ScreenFrame title={`Is ${found.plant.id} dead or culled?`}>
      <PlantLabel plant={found.plant} />
      <p>It is then left out of lists of living plants. All that was seen on it stays.</p>
      <Low>
        <Action kind="grave" onClick={() => void record(app, found, { alive: 'no' }, { onKept: goBack })}>
          Yes, it is not alive
        </Action>
        <Action kind="main" onClick={goBack}>
          No, back
        </Action>
      </Low>
    </ScreenFrame>
  );
}
