/**
 * A sensor's name of whatever a device or a topic calls it. Names are those of SenML (RFC 8428, section 4.5.1), which
 * hold letters and digits of ASCII and - : . / _ only; but "Green Room" and "Küche" are sensors too.
 */
import { isName } from './senml.ts';

const foreign = /[^A-Za-z0-9\-:./_]/gu;

/** A space as _, any other sign as _ and its code, so that two names stay two. */
const written = (sign: string): string =>
  /\s/u.test(sign) ? '_' : `_${sign.codePointAt(0)?.toString(16).toUpperCase()}`;

/** @returns null for what names nothing: an empty text, or one that is far too long */
export function sensorNamed(called: string): string | null {
  // The same letter may come in one piece or in two; and SenML leaves a colon where a name goes on.
  const text = called.normalize('NFC').trim().replace(foreign, written).replace(/:+$/, '');
  const name = /^[-:./_]/.test(text) ? `x${text}` : text;
  return isName(name) ? name : null;
}
