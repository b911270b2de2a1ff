/** @returns the words with plain spaces: where a page may not break a line it has another kind */
export const plain = (text: string | null | undefined): string => (text ?? '').replaceAll('\u00a0', ' ');
