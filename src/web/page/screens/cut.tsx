import type { JSX } from 'preact';
import { useApp } from '../app.js';
import { Action, LatexCaution, Low, ScreenFrame } from '../parts.js';
import { record } from '../recording.js';
import { type Found, goBack } from '../screens.js';

export function CutScreen(found: Found): JSX.Element {
  const app = useApp();
  const inside = (value: string) => void record(app, found, { inside: value }, { onKept: goBack });
  return (
    <ScreenFrame title={`${found.plant.id} cut open`}>
      <LatexCaution />
      <Low>
        <Action onClick={() => inside('pulp')}>Pulp, edible</Action>
        <Action onClick={() => inside('stamens')}>Stamens, with pollen</Action>
        <Action onClick={() => inside('dry')}>Dry</Action>
      </Low>
    </ScreenFrame>
  );
}
