import type { JSX } from 'preact';
import { useState } from 'preact/hooks';
import { useApp } from '../app.js';
import { Action, ScreenFrame } from '../parts.js';
import { PhotoField } from '../photo-field.js';
import { problemIn, record } from '../recording.js';
import { type Found, goBack } from '../screens.js';

export function NoteScreen(found: Found): JSX.Element {
  const app = useApp();
  const [note, setNote] = useState('');
  const [leaf, setLeaf] = useState('');
  const [pulpColour, setPulpColour] = useState('');
  const [height, setHeight] = useState('');
  const [photo, setPhoto] = useState<string | null>(null);
  const [problem, setProblem] = useState('');
  const save = () => {
    const typed = { note, leaf, 'pulp-colour': pulpColour, height };
    const values = Object.fromEntries(
      Object.entries(typed).flatMap(([name, text]) => (text.trim() === '' ? [] : [[name, text.trim()]])),
    );
    const wrong =
      Object.keys(values).length === 0 && photo === null
        ? 'Write something, or take a photo.'
        : problemIn(values);
    setProblem(wrong ?? '');
    if (wrong === null) void record(app, found, values, { photo, onKept: goBack });
  };
  return (
    <ScreenFrame title={`${found.plant.id}: note`}>
      <label for="note">Note</label>
      <textarea
        id="note"
        rows={3}
        value={note}
        onInput={({ currentTarget }) => setNote(currentTarget.value)}
      />
      <LineField
        id="leaf"
        label="Form of its leaves, always in the same words"
        onText={setLeaf}
        text={leaf}
      />
      <LineField
        id="pulp-colour"
        label="Colour of the pulp, always in the same words"
        onText={setPulpColour}
        text={pulpColour}
      />
      <LineField id="height" label="Height of the plant, cm" isNumber onText={setHeight} text={height} />
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

interface LineFieldProps {
  readonly id: string;
  readonly label: string;
  readonly isNumber?: boolean;
  readonly text: string;
  readonly onText: (text: string) => void;
}

function LineField({ id, label, isNumber = false, text, onText }: LineFieldProps): JSX.Element {
  return (
    <>
      <label for={id}>{label}</label>
      <input
        id={id}
        inputMode={isNumber ? 'decimal' : 'text'}
        autocomplete="off"
        value={text}
        onInput={({ currentTarget }) => onText(currentTarget.value)}
      />
    </>
  );
}
