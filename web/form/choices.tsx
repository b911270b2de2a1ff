/** Any number of a list: check boxes underneath, with what was wrong with the choice as a whole. */
import { useId } from 'preact/hooks';

interface ChoicesProps {
  readonly legend: string;
  readonly name: string;
  readonly chosen: readonly string[];
  readonly choices: readonly (readonly [value: string, words: string])[];
  readonly fault: string | null;
  readonly onChosen: (chosen: string[]) => void;
}

export function Choices({ legend, name, chosen, choices, fault, onChosen }: ChoicesProps) {
  const id = useId();
  return (
    <fieldset class="choices" aria-describedby={fault ? id : undefined}>
      <legend>{legend}</legend>
      <div class="choices-list">
        {choices.map(([value, words]) => (
          <label key={value}>
            <input
              type="checkbox"
              name={name}
              checked={chosen.includes(value)}
              onChange={(event) =>
                onChosen(
                  event.currentTarget.checked ? [...chosen, value] : chosen.filter((one) => one !== value),
                )
              }
            />
            <span>{words}</span>
          </label>
        ))}
      </div>
      {fault && (
        <p class="fault" id={id}>
          {fault}
        </p>
      )}
    </fieldset>
  );
}
