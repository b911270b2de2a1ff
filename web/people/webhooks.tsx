/** Addresses of other programs to which every notice is posted, signed. */
import { useSignal } from '@preact/signals';
import { TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { heldIn } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';

/** 32 bytes, in letters that survive being copied by hand. */
function freshSecret(): string {
  return [...crypto.getRandomValues(new Uint8Array(32))]
    .map((byte) => byte.toString(16).padStart(2, '0'))
    .join('');
}

export function Webhooks() {
  const listed = useLive('webhooks', {}, 60_000).answer.value ?? [];
  const sending = useSending();
  const removing = useSending('Not taken away');
  const sure = useSignal('');
  const url = useSignal('');
  /** Shown until the page is left: the service tells it to nobody. */
  const made = useSignal<{ url: string; secret: string } | null>(null);
  const add = async () => {
    const secret = freshSecret();
    await call('putWebhook', { params: { id: newId() }, body: { url: url.value.trim(), secret } });
    made.value = { url: url.value.trim(), secret };
    url.value = '';
    await refresh();
  };
  const remove = async (id: string) => {
    await call('removeWebhook', { params: { id } });
    sure.value = '';
    await refresh();
  };
  return (
    <section class="webhooks" aria-labelledby="webhooks">
      <h2 id="webhooks">Other programs</h2>
      <p class="measure">
        Every notice that begins, grows worse or is over is posted as JSON to these addresses, with the time
        in <code>crownwatch-time</code> and the HMAC-SHA256 of time, a dot and body in{' '}
        <code>crownwatch-signature</code>.
      </p>
      {made.value && (
        <div class="once" role="status">
          <p>
            <b>The secret of {made.value.url}, shown this once:</b>
          </p>
          <Scroll label="Secret">
            <pre>{made.value.secret}</pre>
          </Scroll>
        </div>
      )}
      <ul>
        {listed.map((hook) => (
          <li key={hook.id}>
            <span class="address">{hook.url}</span>{' '}
            {sure.value === hook.id ? (
              <>
                <button
                  type="button"
                  class="link"
                  disabled={removing.busy}
                  onClick={() => void removing.send(() => remove(hook.id))}
                >
                  Take it away, yes
                </button>{' '}
                ·{' '}
                <button
                  type="button"
                  class="link"
                  onClick={() => {
                    sure.value = '';
                  }}
                >
                  Keep it
                </button>
              </>
            ) : (
              <button
                type="button"
                class="link"
                onClick={() => {
                  sure.value = hook.id;
                }}
              >
                Take it away<span class="unseen">: {hook.url}</span>
              </button>
            )}
          </li>
        ))}
      </ul>
      <p role="alert" class="trouble">
        {removing.trouble}
      </p>
      <SendForm sending={sending} onSend={add}>
        <TextField
          name="url"
          type="url"
          label="Address"
          hint="Begins with https://. Addresses within this network are refused unless the service is set up to allow them."
          {...heldIn(url)}
          fault={sending.faultOf('url')}
        />
        <Submit sending={sending} words="Add it" />
      </SendForm>
    </section>
  );
}
