/** Where a hand can be hurt it is said beside the work, never on a page of its own. */
export function Cautions({ sentences }: { readonly sentences: readonly string[] }) {
  if (sentences.length === 0) return null;
  return (
    <div class="caution" role="note" aria-label="Caution">
      {sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
    </div>
  );
}
