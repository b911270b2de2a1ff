/** The heads of a table's columns; those of numbers stand to the right, as the numbers below them do. */

/** Words of a column; a column of numbers is marked so; what is false or null has no column. */
export type Head = string | false | null | { readonly number: string };

export const number = (words: string): Head => ({ number: words });

interface HeadsProps {
  readonly of: readonly Head[];
  /** Heard but not seen, where the columns explain themselves. */
  readonly unseen?: boolean;
}

export function Heads({ of, unseen = false }: HeadsProps) {
  return (
    <thead class={unseen ? 'unseen' : undefined}>
      <tr>
        {of.map((head, i) => {
          if (head === false || head === null) return null;
          return typeof head === 'string' ? (
            <th key={i} scope="col">
              {head}
            </th>
          ) : (
            <th key={i} scope="col" class="n">
              {head.number}
            </th>
          );
        })}
      </tr>
    </thead>
  );
}
