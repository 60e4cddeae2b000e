/** What the page says, where it depends on something. */
import type { NotOnePlant } from '../../scan/one-plant.js';
import type { ObservationView, PlantView, ScanView, TypeView } from '../views.js';

/** `2 years 7 months`, `3 months`, `12 days`; null for a sowing date without a month. */
export function ageOn(today: string, sown: string): string | null {
  const [year = 0, month, day = 1] = sown.split('-').map(Number);
  if (month === undefined) return null;
  const [thisYear = 0, thisMonth = 1, thisDay = 1] = today.split('-').map(Number);
  const months = 12 * (thisYear - year) + thisMonth - month - (thisDay < day ? 1 : 0);
  if (months < 0) return null;
  if (months < 1) return 'under a month';
  const parts = [counted(Math.floor(months / 12), 'year'), counted(months % 12, 'month')];
  return parts.filter((part) => part !== '').join(' ');
}

function counted(count: number, one: string): string {
  return count === 0 ? '' : `${count} ${one}${count === 1 ? '' : 's'}`;
}

/** Cross, or what it was taken from. */
export function descent({ cross, kind, origin }: PlantView): string {
  return cross ?? (origin === null ? kind : `${kind} of ${origin}`);
}

export function typeInWords({ stated, called, shares, nothingTells }: TypeView): string | null {
  if (called !== null) return called;
  const [likeliest] = shares;
  if (likeliest === undefined) return stated;
  if (nothingTells) return 'open; nothing tells yet';
  return `open; likeliest ${likeliest.type}, ${Math.round(100 * likeliest.share)} %`;
}

export function seenBy({ by }: ObservationView): string {
  return `by ${by}`;
}

/** From what a tag was read, and how surely; null where its code is whole, or it was not read for certain. */
export function howInWords(how: ScanView['how'] | undefined): string | null {
  if (how?.by !== 'ledger' || how.probability < READ_AT) return null;
  return `Read from what is left of its damaged tag: of all tags of this ledger it fits this one alone, sure to ${shareInWords(how.probability)}. Compare with the pot.`;
}

/** From here on the server calls it read. */
const READ_AT = 0.9999;

/** Rounded down, and never all: nothing is said to be surer than it is. `99.99 %` */
function shareInWords(probability: number): string {
  return `${Math.min(9999, Math.floor(10_000 * probability)) / 100} %`;
}

/** Why a person has to choose among what a photo shows. */
export const WHY_CHOOSE: Readonly<Record<NotOnePlant, string>> = {
  'no current tag': 'The photo shows several codes, none of them a plant’s current tag.',
  'several plants': 'The photo shows tags of several plants.',
  'uncertain tag': 'The photo shows another tag, whose plant is not certain.',
};

/** What a screen says of a scan that is not simply the plant's current tag. */
export function unresolvedWords({ status, text, candidates, todo }: ScanView): {
  title: string;
  advice: string;
} {
  switch (status) {
    case 'current':
      return { title: 'Found', advice: '' };
    case 'superseded':
      return {
        title: 'An older tag',
        advice:
          'A newer tag was printed for this plant. Look whether this is the right pot. Take the old tag off.',
      };
    case 'void':
      return {
        title: 'A tag given up',
        advice: todo ?? '',
      };
    case 'unissued':
      return {
        title: 'Never printed',
        advice: 'No such tag was printed from this ledger. Look at the tag again.',
      };
    case 'unknown':
      return {
        title: 'No such plant',
        advice: 'The ID is sound, but no plant here has it. It may be a tag of another ledger.',
      };
    case 'unreadable':
      return candidates.length > 0
        ? {
            title: 'Which plant is it?',
            advice: 'The ID cannot be read for certain. Compare with the pot: nothing is taken without you.',
          }
        : {
            title: 'Not a sound ID',
            advice: 'A character is wrong or missing. Type ? for each that cannot be read.',
          };
    case 'not-a-tag':
      return { title: text === null ? 'Nothing read' : 'Not a tag', advice: todo ?? '' };
  }
}
