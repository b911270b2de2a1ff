/** How many hours a month there are is this person's own matter: it stays on this device. */
const key = 'crownwatch:hours-a-month';
/** As the service assumes where nothing is said. */
const usual = '80';

export function keptHours(): string {
  try {
    return localStorage.getItem(key) ?? usual;
  } catch {
    return usual;
  }
}

export function keepHours(text: string): void {
  try {
    localStorage.setItem(key, text);
  } catch {
    // It is typed again next time.
  }
}
