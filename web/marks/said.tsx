/** A sentence of the service, set so that its numbers can be found at a glance and never part from their units. */
import { Fragment } from 'preact';
import { nbsp } from '../words/numbers.ts';

const figure =
  /([+\u2212-]?\d+(?:[.,]\d+)?(?:\s?(?:±|to|and)\s?\d+(?:[.,]\d+)?)?\s?(?:cents?|points?|%(?:\sMC)?|°[CF]|Hz|days?|weeks?|h|min)(?![\w])(?:\s(?:flat|sharp|dry|wet))?)/;

/** "-5 %" with a hyphen or a plain space is mended: the page never shows either. */
function mended(text: string): string {
  return text.replace(/^-(?=\d)/, '\u2212').replaceAll(' ', nbsp);
}

export function Said({ sentence, urgent = false }: { readonly sentence: string; readonly urgent?: boolean }) {
  return (
    <>
      {urgent && <strong class="urgent">Now: </strong>}
      {sentence.split(figure).map((part, i) => (
        // The parts of one sentence have no other identity than their place.
        <Fragment key={i}>{i % 2 === 1 ? <b>{mended(part)}</b> : part}</Fragment>
      ))}
    </>
  );
}
