/** RFC 6901: the document and the evaluations of section 5, and the errors of sections 3 and 4. */
import { expect, test } from 'vitest';
import { isPointer, valueAt } from '../../ingest/decode/json-pointer.ts';

const document = JSON.parse(String.raw`{
  "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8
}`);

test.each([
  ['', document],
  ['/foo', ['bar', 'baz']],
  ['/foo/0', 'bar'],
  ['/', 0],
  ['/a~1b', 1],
  ['/c%d', 2],
  ['/e^f', 3],
  ['/g|h', 4],
  ['/i\\j', 5],
  ['/k"l', 6],
  ['/ ', 7],
  ['/m~0n', 8],
])('section 5: “%s”', (pointer, value) => {
  expect(isPointer(pointer)).toBe(true);
  expect(valueAt(document, pointer)).toEqual(value);
});

test('section 4: ~01 is ~1 and not a slash; an index has no leading zero, and - is beyond the end', () => {
  expect(valueAt({ '~1': 1, '/': 2 }, '/~01')).toBe(1);
  for (const pointer of ['/foo/00', '/foo/01', '/foo/-', '/foo/2', '/foo/1e0', '/foo/length', '/none/x']) {
    expect(valueAt(document, pointer)).toBeUndefined();
  }
});

test.each(['foo', '/a~b', '/~', '#/foo', '~0'])('section 3: “%s” is no pointer', (text) => {
  expect(isPointer(text)).toBe(false);
});

test('what an object inherits is not in the document', () => {
  for (const pointer of ['/constructor', '/__proto__', '/foo/constructor', '/toString']) {
    expect(valueAt(document, pointer)).toBeUndefined();
  }
});
