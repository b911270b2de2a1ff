/** Signed by name; by hand too, where there is a finger or a pen. */
import { useEffect, useRef } from 'preact/hooks';
import { TextLine } from '../form/line.tsx';
import type { Sheet } from './sheet-context.ts';

const field = { width: 1000, height: 300 };

export function Signature({ sheet }: { readonly sheet: Sheet }) {
  const { draft, change } = sheet;
  const canvas = useRef<HTMLCanvasElement>(null);
  const stroke = useRef<number[] | null>(null);
  const { strokes, by } = draft.signature;
  const pen = () => {
    const line = canvas.current?.getContext('2d') ?? null;
    if (line && canvas.current) {
      line.strokeStyle = getComputedStyle(canvas.current).color;
      line.lineWidth = 6;
      line.lineCap = 'round';
      line.lineJoin = 'round';
    }
    return line;
  };
  const draw = (points: readonly number[]) => {
    const line = pen();
    if (!line) return;
    line.beginPath();
    for (let i = 0; i + 1 < points.length; i += 2) line.lineTo(points[i] ?? 0, points[i + 1] ?? 0);
    line.stroke();
  };
  useEffect(() => {
    pen()?.clearRect(0, 0, field.width, field.height);
    for (const one of strokes) draw(one);
  }, [strokes]);
  const at = (event: PointerEvent): [number, number] => {
    const box = (event.currentTarget as HTMLCanvasElement).getBoundingClientRect();
    const within = (value: number, most: number) => Math.round(Math.max(0, Math.min(most, value)));
    return [
      within(((event.clientX - box.left) / box.width) * field.width, field.width),
      within(((event.clientY - box.top) / box.height) * field.height, field.height),
    ];
  };
  return (
    <fieldset class="signature">
      <legend>Signature</legend>
      <TextLine
        label="Signed by"
        maxLength={120}
        value={by}
        onValue={(name) =>
          change(
            'signed by',
            (now) => ({ ...now, signature: { ...now.signature, by: name } }),
            'signature.by',
          )
        }
      />
      <canvas
        ref={canvas}
        width={field.width}
        height={field.height}
        role="img"
        aria-label={
          strokes.length === 0 ? 'Sign here with a finger or a pen; the name alone will do' : 'Signed by hand'
        }
        onPointerDown={(event) => {
          event.currentTarget.setPointerCapture(event.pointerId);
          stroke.current = at(event);
        }}
        onPointerMove={(event) => {
          if (!stroke.current || stroke.current.length > 3998) return;
          stroke.current.push(...at(event));
          draw(stroke.current.slice(-4));
        }}
        onPointerUp={() => {
          const done = stroke.current;
          stroke.current = null;
          if (!done || strokes.length >= 200) return;
          change('signature', (now) => ({
            ...now,
            signature: { ...now.signature, strokes: [...now.signature.strokes, done] },
          }));
        }}
      />
      {strokes.length > 0 && (
        <button
          type="button"
          class="link"
          onClick={() =>
            change('signature wiped', (now) => ({ ...now, signature: { ...now.signature, strokes: [] } }))
          }
        >
          Wipe it
        </button>
      )}
    </fieldset>
  );
}
