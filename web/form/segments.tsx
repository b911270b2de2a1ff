/** One choice of a few, side by side: radio buttons underneath, so that arrow keys and screen readers know what to do. */
interface SegmentsProps<T extends string> {
  readonly legend: string;
  readonly name: string;
  readonly value: T;
  readonly choices: readonly (readonly [value: T, words: string])[];
  readonly onChoose: (value: T) => void;
  /** Where the legend would repeat what stands beside it. */
  readonly quiet?: boolean;
}

export function Segments<T extends string>({
  legend,
  name,
  value,
  choices,
  onChoose,
  quiet = false,
}: SegmentsProps<T>) {
  return (
    <fieldset class="segments">
      <legend class={quiet ? 'unseen' : undefined}>{legend}</legend>
      <div class="segment-row">
        {choices.map(([choice, words]) => (
          <label key={choice}>
            <input
              type="radio"
              name={name}
              value={choice}
              checked={choice === value}
              onChange={() => onChoose(choice)}
            />
            <span>{words}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}
