import type { JSX } from 'preact';
import type { ScanView } from '../../views.js';
import { Action, Low, PlantLabel, ScreenFrame } from '../parts.js';
import { goBack, replaceBy } from '../screens.js';
import { unresolvedWords } from '../words.js';
import { screenFor } from './find.js';

/** A photo that shows several tags. */
export function ChooseScreen({ scans }: { scans: readonly ScanView[] }): JSX.Element {
  return (
    <ScreenFrame title="Which of these?">
      <p>The photo shows several tags.</p>
      <Low>
        {scans.map((scan) => (
          <Action key={scan.text} onClick={() => replaceBy(screenFor([scan]))}>
            {scan.plant === null ? (
              <span class="label">
                <span class="label-id">{scan.text}</span>
                <span>{unresolvedWords(scan).title}</span>
              </span>
            ) : (
              <PlantLabel plant={scan.plant} />
            )}
          </Action>
        ))}
        <Action onClick={goBack}>None of these</Action>
      </Low>
    </ScreenFrame>
  );
}
