import type { JSX } from 'preact';
import { useState } from 'preact/hooks';
import { useApp } from '../app.js';
import { Action, ScreenFrame, TasteCaution } from '../parts.js';
import { PhotoField } from '../photo-field.js';
import { problemIn, record } from '../recording.js';
import { type Found, goBack } from '../screens.js';

const LIKINGS = Array.from({ length: 9 }, (_, index) => String(index + 1));

/** What the ends and the middle of the nine-point hedonic scale say (Peryam & Pilgrim 1957). */
const LIKING_WORDS: Readonly<Record<string, string>> = {
  1: 'dislike extremely',
  5: 'neither',
  9: 'like extremely',
};

/** Words to start from; any others can be written. */
const FLAVOURS = ['sweet', 'honey', 'berry', 'melon', 'caramel', 'nutty', 'tart', 'bland', 'bitter', 'seedy'];

export function TasteScreen(found: Found): JSX.Element {
  const app = useApp();
  const [liking, setLiking] = useState('');
  const [brix, setBrix] = useState('');
  const [weight, setWeight] = useState('');
  const [flavour, setFlavour] = useState('');
  const [photo, setPhoto] = useState<string | null>(null);
  const [problem, setProblem] = useState('');

  const words = flavour.split(/[\s,]+/).filter(Boolean);
  const toggle = (word: string) =>
    setFlavour((words.includes(word) ? words.filter((one) => one !== word) : [...words, word]).join(', '));
  const save = () => {
    const typed = { liking, brix: brix.trim(), weight: weight.trim(), flavour: flavour.trim() };
    const values = Object.fromEntries(Object.entries(typed).filter(([, text]) => text !== ''));
    const wrong =
      Object.keys(values).length === 0 && photo === null ? 'Say how it was, or go back.' : problemIn(values);
    setProblem(wrong ?? '');
    if (wrong === null) void record(app, found, values, { photo, onKept: goBack });
  };
  return (
    <ScreenFrame title={`${found.plant.id} tasted`}>
      <TasteCaution />
      <fieldset class="liking">
        <legend>Liking, 1 to 9</legend>
        {LIKINGS.map((value) => (
          <label key={value}>
            <input type="radio" name="liking" checked={liking === value} onChange={() => setLiking(value)} />
            <span>
              {value} <small>{LIKING_WORDS[value] ?? ''}</small>
            </span>
          </label>
        ))}
      </fieldset>
      <div class="row">
        <div>
          <label for="brix">Sugar, °Bx</label>
          <input
            id="brix"
            inputMode="decimal"
            autocomplete="off"
            value={brix}
            onInput={({ currentTarget }) => setBrix(currentTarget.value)}
          />
        </div>
        <div>
          <label for="weight">Weight, g</label>
          <input
            id="weight"
            inputMode="decimal"
            autocomplete="off"
            value={weight}
            onInput={({ currentTarget }) => setWeight(currentTarget.value)}
          />
        </div>
      </div>
      <label for="flavour">Flavour</label>
      <input
        id="flavour"
        autocomplete="off"
        value={flavour}
        onInput={({ currentTarget }) => setFlavour(currentTarget.value)}
      />
      <div class="words">
        {FLAVOURS.map((word) => (
          <button type="button" key={word} aria-pressed={words.includes(word)} onClick={() => toggle(word)}>
            {word}
          </button>
        ))}
      </div>
      <PhotoField photo={photo} onPhoto={setPhoto} />
      <p role="alert" class="problem">
        {problem}
      </p>
      <Action kind="main" onClick={save}>
        Save
      </Action>
    </ScreenFrame>
  );
}
