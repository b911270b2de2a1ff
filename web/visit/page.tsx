/** Records a visit, on a phone beside the piano first. */
import { useRoute } from 'preact-iso';
import { useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { correctionOf, freshDraft, keptDraft } from './draft.ts';
import { VisitForm } from './form.tsx';
import './visit.css';

export function VisitPage() {
  const { params, query } = useRoute();
  // Asked for once in a while only: what is being typed must not move.
  const { answer, error } = useLive('instrument', { params: { id: params.id ?? '' } }, 300_000);
  const instrument = answer.value;
  if (!instrument) {
    return (
      <Page title="Visit" narrow>
        <Waiting error={error.value} what="the instrument" />
      </Page>
    );
  }
  const corrects = query.corrects ?? null;
  const corrected = instrument.visits.find(({ id }) => id === corrects);
  if (corrects !== null && !corrected) return <MissingPage />;
  const kept = keptDraft(instrument.id, corrects);
  const fresh = corrected
    ? correctionOf(corrected, instrument.timeZone)
    : freshDraft(instrument.id, instrument.timeZone);
  return (
    <VisitForm
      key={`${instrument.id} ${corrects}`}
      instrument={instrument}
      corrected={corrected ?? null}
      begin={kept ?? fresh}
      kept={kept !== null}
    />
  );
}
