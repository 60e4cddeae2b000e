import type { JSX } from 'preact';
import type { PlantView, ScanView } from '../../views.js';
import { Action, Low, PlantLabel, ReadHow, ScreenFrame } from '../parts.js';
import { goBack, replaceBy } from '../screens.js';
import { unresolvedWords } from '../words.js';

/** A stranger's code can hold anything, of any length. */
const MOST_SHOWN = 80;

/** Nothing is taken silently: a person says which plant it is, and then it counts as known by its ID. */
const open = (plant: PlantView) => replaceBy({ name: 'plant', plant, issue: null });

interface UnresolvedProps {
  readonly scan: ScanView;
  /** A person said that it is this one. */
  readonly onPlant?: (plant: PlantView) => void;
}

export function UnresolvedScreen({ scan, onPlant = open }: UnresolvedProps): JSX.Element {
  const { text, plant, candidates } = scan;
  const { title, advice } = unresolvedWords(scan);
  const shown = text === null || text.length <= MOST_SHOWN ? text : `${text.slice(0, MOST_SHOWN)}…`;
  return (
    <ScreenFrame title={title}>
      {shown !== null && <p class="read">{shown}</p>}
      <p>{advice}</p>
      <ReadHow how={scan.how} />
      {plant !== null && (
        <>
          <p>The tag is of</p>
          <PlantLabel plant={plant} />
        </>
      )}
      <Low>
        {plant !== null && <Action onClick={() => onPlant(plant)}>It is {plant.id}: go on</Action>}
        {candidates.map((candidate) => (
          <Action key={candidate.plant.id} onClick={() => onPlant(candidate.plant)}>
            <PlantLabel plant={candidate.plant} />
            <span class="small">{candidate.because}</span>
          </Action>
        ))}
        <Action kind="main" onClick={goBack}>
          {candidates.length > 0 ? 'None of these: back' : 'Scan again'}
        </Action>
      </Low>
    </ScreenFrame>
  );
}
