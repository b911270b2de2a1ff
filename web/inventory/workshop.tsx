/** Heading, rate and disclaimer of estimates and reports. */
import { useSignal } from '@preact/signals';
import type { Workshop } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { AreaField, TextField } from '../form/field.tsx';
import { partsOf } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';

export function WorkshopForm({ begin }: { readonly begin: Workshop }) {
  const sending = useSending();
  const text = useSignal({
    heading: begin.heading,
    rate: begin.ratePerHourCents === null ? '' : String(begin.ratePerHourCents / 100),
    currency: begin.currency,
    disclaimer: begin.disclaimer,
  });
  const saved = useSignal(false);
  const part = partsOf(text.value, (next) => {
    text.value = next;
    saved.value = false;
  });
  const send = async () => {
    const entries = new Entries();
    const rate = entries.optional('ratePerHourCents', text.value.rate);
    entries.check();
    const { heading, currency, disclaimer } = text.value;
    await call('putWorkshop', {
      body: {
        heading,
        currency: currency.trim().toUpperCase(),
        disclaimer,
        ratePerHourCents: rate === null ? null : Math.round(rate * 100),
      },
    });
    saved.value = true;
    await refresh();
  };
  const { faultOf } = sending;
  return (
    <section aria-labelledby="terms">
      <h2 id="terms">Terms of estimates and reports</h2>
      <SendForm sending={sending} onSend={send}>
        <div class="fields">
          <TextField
            {...part('heading')}
            label="Reports are headed"
            maxLength={120}
            fault={faultOf('heading')}
          />
          <TextField
            {...part('rate')}
            name="ratePerHourCents"
            label="Rate an hour"
            numeric
            hint="Empty: times only."
            fault={faultOf('ratePerHourCents')}
          />
          <TextField {...part('currency')} label="Currency" maxLength={3} fault={faultOf('currency')} />
        </div>
        <AreaField
          {...part('disclaimer')}
          label="Added to the usual disclaimers"
          maxLength={4000}
          fault={faultOf('disclaimer')}
        />
        <Submit sending={sending} words="Keep the terms">
          <p role="status">{saved.value ? 'Kept.' : ''}</p>
        </Submit>
      </SendForm>
    </section>
  );
}
