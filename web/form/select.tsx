/** One of several words, behind one line: the browser's own control, tied to its label and notes. */

/** What ties an entry to the label above it and the notes below it. */
export interface Tied {
  readonly id: string;
  readonly 'aria-describedby': string | undefined;
  readonly 'aria-invalid': 'true' | undefined;
}

export interface Choosing<T extends string> {
  readonly value: T;
  readonly choices: readonly (readonly [value: T, words: string])[];
  readonly onValue: (value: T) => void;
}

export function Select<T extends string>({
  tied,
  name,
  value,
  choices,
  onValue,
}: Choosing<T> & { readonly tied: Tied; readonly name?: string }) {
  return (
    <select
      {...tied}
      name={name}
      value={value}
      onChange={(event) => {
        const picked = choices.find(([choice]) => choice === event.currentTarget.value);
        if (picked) onValue(picked[0]);
      }}
    >
      {choices.map(([choice, words]) => (
        <option key={choice} value={choice}>
          {words}
        </option>
      ))}
    </select>
  );
}
