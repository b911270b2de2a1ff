/** A photo from the camera, made small enough to keep and to send: at most 1600 px and 400 kB. */
const longestPx = 1600;
const mostBytes = 400_000;

export class NoPhoto extends Error {
  constructor(sentence: string) {
    super(sentence);
    this.name = 'NoPhoto';
  }
}

async function encode(canvas: HTMLCanvasElement, quality: number): Promise<ArrayBuffer> {
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/jpeg', quality));
  if (!blob) throw new NoPhoto('This device could not encode the photo.');
  return blob.arrayBuffer();
}

/** @throws NoPhoto with a sentence, whatever the file was. */
export async function smallPhoto(file: Blob & { readonly name?: string }): Promise<ArrayBuffer> {
  const name = file.name ? `“${file.name}”` : 'This file';
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch {
    throw new NoPhoto(
      `${name} is no picture this device can read; take a photo, or choose a JPEG, PNG or WebP.`,
    );
  }
  try {
    const canvas = document.createElement('canvas');
    for (let px = longestPx; ; px = Math.round(px * 0.8)) {
      const scale = Math.min(1, px / Math.max(bitmap.width, bitmap.height));
      canvas.width = Math.max(1, Math.round(bitmap.width * scale));
      canvas.height = Math.max(1, Math.round(bitmap.height * scale));
      const pen = canvas.getContext('2d');
      if (!pen) throw new NoPhoto('This device could not draw the photo.');
      pen.fillStyle = '#ffffff';
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
      for (const quality of [0.85, 0.75, 0.6]) {
        const bytes = await encode(canvas, quality);
        if (bytes.byteLength <= mostBytes || px < 400) return bytes;
      }
    }
  } finally {
    bitmap.close();
  }
}
