/** The notices of one instrument: what goes on, and folded away what is over. */
import type { Notice } from '../../server/contract/index.ts';
import { OneNotice } from './notice.tsx';

interface NoticesProps {
  readonly notices: readonly Notice[];
  readonly timeZone: string;
}

export function Notices({ notices, timeZone }: NoticesProps) {
  const open = notices.filter(({ state }) => state !== 'over');
  const over = notices.filter(({ state }) => state === 'over');
  return (
    <section class="notices" aria-labelledby="notices">
      <h2 id="notices">What the watch has found</h2>
      {open.length === 0 && <p class="quiet">Nothing that goes on.</p>}
      <ul>
        {open.map((notice) => (
          <OneNotice key={notice.id} notice={notice} timeZone={timeZone} />
        ))}
      </ul>
      {over.length > 0 && (
        <details class="more">
          <summary>What is over ({over.length})</summary>
          <ul>
            {over.map((notice) => (
              <OneNotice key={notice.id} notice={notice} timeZone={timeZone} />
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}
