import type { JSX } from 'preact';

interface PictureInputProps {
  readonly label: string;
  readonly onPicture: (file: File) => void;
}

/** A button that takes a picture, with the camera where there is one. */
export function PictureInput({ label, onPicture }: PictureInputProps): JSX.Element {
  return (
    <label class="action plain file">
      {label}
      <input
        type="file"
        accept="image/*"
        capture="environment"
        onChange={({ currentTarget }) => {
          const [file] = currentTarget.files ?? [];
          if (file !== undefined) onPicture(file);
          currentTarget.value = ''; // So that the same picture can be chosen once more.
        }}
      />
    </label>
  );
}
