/** Fields of something that is written as a whole: each is named for a part, shows it, and gives the whole back with it changed. */

export function partsOf<Whole extends object>(whole: Whole, onChange: (whole: Whole) => void) {
  return <Part extends keyof Whole & string>(name: Part) => ({
    name,
    value: whole[name],
    onValue: (value: Whole[Part]) => onChange({ ...whole, [name]: value }),
  });
}
