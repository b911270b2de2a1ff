/** Sends a photo in parts, so that where the signal breaks the next sending goes on and does not begin anew. */
import { fileRoutes } from '../../server/contract/index.ts';
import { call } from '../service/call.ts';
import type { KeptPhoto } from './store.ts';

/** Some seconds on a slow line: what is lost with a cut. */
const partBytes = 65_536;

/** `sha-256=:…:` as RFC 9530 writes it; null where the browser does not give it (only pages on HTTPS have it). */
async function digestOf(bytes: ArrayBuffer): Promise<string | null> {
  if (!globalThis.crypto?.subtle) return null;
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return `sha-256=:${btoa(String.fromCharCode(...hash))}:`;
}

async function why(response: Response): Promise<Error> {
  const problem = (await response.json().catch(() => null)) as { detail?: string } | null;
  return new Error(problem?.detail ?? `The service answered ${response.status}.`);
}

/** @throws Error with a sentence; TypeError where there is no connection. What had come by then stays with the service. */
export async function sendPhoto({ id, instrumentId, bytes }: KeptPhoto): Promise<void> {
  const path = fileRoutes.putPhoto.path.replace('{id}', instrumentId).replace('{photoId}', id);
  const total = bytes.byteLength;
  const digest = await digestOf(bytes);
  let { receivedBytes, whole } = await call('photoReceived', { params: { id } });
  // Each answer says where to go on; as many answers as there are parts, and some for a second device at the same.
  for (let tries = 2 * Math.ceil(total / partBytes) + 4; !whole; tries--) {
    if (tries === 0) throw new Error('The photo did not come through whole; it is tried again.');
    const end = Math.min(receivedBytes + partBytes, total);
    const response = await fetch(path, {
      method: 'PUT',
      headers: {
        'content-type': 'image/jpeg',
        'content-range': `bytes ${receivedBytes}-${end - 1}/${total}`,
        ...(digest ? { 'repr-digest': digest } : {}),
      },
      body: bytes.slice(receivedBytes, end),
    });
    if (!response.ok) throw await why(response);
    const answer = fileRoutes.putPhoto.answer.parse(await response.json());
    if (!('receivedBytes' in answer)) return;
    ({ receivedBytes, whole } = answer);
  }
}
