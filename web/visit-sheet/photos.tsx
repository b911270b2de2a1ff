/** Photos: taken, shown from the device's own shelf, and marked with a tap where it matters. */
import { useEffect, useRef } from 'preact/hooks';
import { fileRoutes, type PhotoNote } from '../../server/contract/index.ts';
import { shelf } from '../device/store.ts';
import type { SheetDraft } from './draft.ts';
import type { Sheet } from './sheet-context.ts';

export function PhotoButton({
  sheet,
  itemId,
  label,
}: {
  readonly sheet: Sheet;
  readonly itemId: string | null;
  readonly label: string;
}) {
  return (
    <label class="photo-button">
      <input
        type="file"
        accept="image/*"
        capture="environment"
        multiple
        aria-label={label}
        onChange={(event) => {
          sheet.addPhotos([...(event.currentTarget.files ?? [])], itemId);
          event.currentTarget.value = '';
        }}
      />
      <span aria-hidden="true">Photo</span>
    </label>
  );
}

const setPhoto = (draft: SheetDraft, id: string, change: Partial<PhotoNote>): SheetDraft => ({
  ...draft,
  photos: draft.photos.map((photo) => (photo.id === id ? { ...photo, ...change } : photo)),
});

function Picture({ sheet, photo }: { readonly sheet: Sheet; readonly photo: PhotoNote }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { mark, id } = photo;
  useEffect(() => {
    let gone = false;
    const draw = async () => {
      const kept = await (await shelf()).get('photos', id);
      // A photo of a visit that is corrected is with the service.
      const picture = kept
        ? new Blob([kept.bytes])
        : await (await fetch(`${fileRoutes.photo.path.replace('{id}', id)}?size=small`)).blob();
      const bitmap = await createImageBitmap(picture);
      const target = canvas.current;
      if (!target || gone) return;
      target.width = 320;
      target.height = Math.round((bitmap.height / bitmap.width) * 320);
      const pen = target.getContext('2d');
      pen?.drawImage(bitmap, 0, 0, target.width, target.height);
      if (!pen || !mark) return;
      for (const [colour, width] of [
        ['#ffffff', 6],
        ['#8c2f1b', 3],
      ] as const) {
        pen.strokeStyle = colour;
        pen.lineWidth = width;
        pen.beginPath();
        pen.arc(mark.x * target.width, mark.y * target.height, 22, 0, 2 * Math.PI);
        pen.stroke();
      }
    };
    void draw().catch(() => undefined);
    return () => {
      gone = true;
    };
  }, [id, mark?.x, mark?.y]);
  const setMark = (x: number, y: number) =>
    sheet.change('mark on a photo', (now) => setPhoto(now, id, { mark: { x, y } }));
  return (
    <button
      type="button"
      class="picture"
      aria-label={`${photo.caption || 'Photo'}: set the mark; arrow keys move it`}
      onClick={(event) => {
        const box = event.currentTarget.getBoundingClientRect();
        // Pressed by key, it goes to the middle.
        if (event.detail === 0) return setMark(0.5, 0.5);
        setMark((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
      }}
      onKeyDown={(event) => {
        const step = {
          ArrowLeft: [-0.05, 0],
          ArrowRight: [0.05, 0],
          ArrowUp: [0, -0.05],
          ArrowDown: [0, 0.05],
        }[event.key];
        if (!step || !mark) return;
        event.preventDefault();
        const within = (value: number) => Math.max(0, Math.min(1, value));
        setMark(within(mark.x + (step[0] ?? 0)), within(mark.y + (step[1] ?? 0)));
      }}
    >
      <canvas ref={canvas} width={320} height={240} />
    </button>
  );
}

export function PhotoStrip({
  sheet,
  photos,
}: {
  readonly sheet: Sheet;
  readonly photos: readonly PhotoNote[];
}) {
  if (photos.length === 0) return null;
  return (
    <ul class="photo-strip">
      {photos.map((photo) => (
        <li key={photo.id}>
          <Picture sheet={sheet} photo={photo} />
          <input
            type="text"
            maxLength={400}
            aria-label="What the photo shows"
            placeholder="What it shows"
            value={photo.caption}
            onInput={(event) => {
              const caption = event.currentTarget.value;
              sheet.change('photo', (now) => setPhoto(now, photo.id, { caption }), `photo.${photo.id}`);
            }}
          />
          <button
            type="button"
            class="link"
            onClick={() =>
              sheet.change('photo left out', (now) => ({
                ...now,
                photos: now.photos.filter(({ id }) => id !== photo.id),
              }))
            }
          >
            Leave it out
          </button>
        </li>
      ))}
    </ul>
  );
}
