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
  const [height, setHeight] = useState('');
  const [photo, setPhoto] = useState<string | null>(null);
  const [problem, setProblem] = useState('');
  const save = () => {
    const values = {
      ...(note.trim() && { note: note.trim() }),
      ...(height.trim() && { height: height.trim() }),
    };
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
      <label for="height">Height of the plant, cm</label>
      <input
        id="height"
        inputMode="decimal"
        autocomplete="off"
        value={height}
        onInput={({ currentTarget }) => setHeight(currentTarget.value)}
      />
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
