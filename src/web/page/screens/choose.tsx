import type { JSX } from 'preact';
import type { NotOnePlant } from '../../../scan/one-plant.js';
import type { ScanView } from '../../views.js';
import { Action, Low, PlantLabel, ScreenFrame } from '../parts.js';
import { goBack, replaceBy } from '../screens.js';
import { unresolvedWords, WHY_CHOOSE } from '../words.js';
import { screenFor } from './find.js';

interface ChooseProps {
  readonly scans: readonly ScanView[];
  readonly whyNot: NotOnePlant;
}

/** A photo of several codes that is not one plant's. */
export function ChooseScreen({ scans, whyNot }: ChooseProps): JSX.Element {
  return (
    <ScreenFrame title="Which of these?">
      <p>{WHY_CHOOSE[whyNot]}</p>
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
