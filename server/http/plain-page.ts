/** Pages that open by a link alone: one frame, no script, nothing told to search engines or to the pages they link to. */
export const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

export const frame = (title: string, body: string): string =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta name="robots" content="noindex"><meta name="referrer" content="no-referrer"><link rel="icon" href="/icon-192.png"><title>${escaped(title)}</title><link rel="stylesheet" href="/plain.css"></head><body><main>${body}</main></body></html>`;

/** @param press what one button says; null where nothing is left to do */
export const plainPage = (title: string, sentence: string, press: string | null): string =>
  frame(
    title,
    `<h1>${escaped(title)}</h1><p>${escaped(sentence)}</p>${press ? `<form method="post"><button class="first">${escaped(press)}</button></form>` : ''}`,
  );
