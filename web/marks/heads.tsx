/** The heads of a table's columns; those of numbers stand to the right, as the numbers below them do. */

/** Words of a column: of words, of numbers, or heard alone. What is false or null has no column. */
export type Head = string | { readonly number: string } | { readonly heard: string } | false | null;

export const number = (words: string): Head => ({ number: words });
/** For what needs no words to be seen. */
export const heard = (words: string): Head => ({ heard: words });

interface HeadsProps {
  readonly of: readonly Head[];
  /** Heard alone, all of them. */
  readonly unseen?: boolean;
}

export function Heads({ of, unseen = false }: HeadsProps) {
  return (
    <thead class={unseen ? 'unseen' : undefined}>
      <tr>{of.map((head, i) => head && <HeadCell key={i} head={head} />)}</tr>
    </thead>
  );
}

function HeadCell({ head }: { readonly head: Exclude<Head, false | null> }) {
  if (typeof head === 'string') return <th scope="col">{head}</th>;
  if ('number' in head) {
    return (
      <th scope="col" class="n">
        {head.number}
      </th>
    );
  }
  return (
    <th scope="col">
      <span class="unseen">{head.heard}</span>
    </th>
  );
}
