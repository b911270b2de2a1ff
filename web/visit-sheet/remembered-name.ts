/** Whoever recorded a visit here is likely to record the next. */
const key = 'crownwatch:technician';

export function rememberedName(): string {
  try {
    return localStorage.getItem(key) ?? '';
  } catch {
    return '';
  }
}

export function rememberName(name: string): void {
  try {
    localStorage.setItem(key, name);
  } catch {
    // It is typed again next time.
  }
}
