/**
 * A JSON Pointer names one value within a JSON document.
 *
 * @source RFC 6901 sections 3 (syntax), 4 (evaluation)
 */
const syntax = /^(?:\/(?:[^~/]|~[01])*)*$/;
const arrayIndex = /^(?:0|[1-9]\d*)$/;

export const isPointer = (text: string): boolean => syntax.test(text);

const cut = new Map<string, readonly string[]>();
function tokensOf(pointer: string): readonly string[] {
  const known = cut.get(pointer);
  if (known) return known;
  const tokens = pointer
    .split('/')
    .slice(1)
    // In this order, so that ~01 becomes ~1 and not a slash.
    .map((token) => token.replaceAll('~1', '/').replaceAll('~0', '~'));
  if (cut.size > 1_000) cut.clear();
  cut.set(pointer, tokens);
  return tokens;
}

/** @returns undefined where the document has no such value; what an object inherits is not in the document */
export function valueAt(document: unknown, pointer: string): unknown {
  let value = document;
  for (const token of tokensOf(pointer)) {
    if (Array.isArray(value)) {
      value = arrayIndex.test(token) ? value[Number(token)] : undefined;
    } else if (typeof value === 'object' && value !== null && Object.hasOwn(value, token)) {
      value = Reflect.get(value, token);
    } else return undefined;
  }
  return value;
}
