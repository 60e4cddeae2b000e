import type { JSX } from 'preact';
import { useState } from 'preact/hooks';
import { PictureInput } from './picture-input.js';
import { photoToKeep } from './pictures.js';

interface PhotoFieldProps {
  /** As a data URL. */
  readonly photo: string | null;
  readonly onPhoto: (photo: string | null) => void;
}

/** A photo to keep with what was seen. */
export function PhotoField({ photo, onPhoto }: PhotoFieldProps): JSX.Element {
  const [problem, setProblem] = useState('');
  const take = async (file: File) => {
    setProblem('');
    try {
      onPhoto(await photoToKeep(file));
    } catch {
      setProblem('This picture could not be opened. Take it again.');
    }
  };
  return (
    <div class="photo">
      {photo !== null && <img src={photo} alt="To be kept" />}
      <PictureInput
        label={photo === null ? 'Add a photo' : 'Another photo'}
        onPicture={(file) => void take(file)}
      />
      <p role="alert" class="problem">
        {problem}
      </p>
    </div>
  );
}
