/** The values of one place as fields: what was changed is sent, all or none. */
import { useSignal } from '@preact/signals';
import type { SettingsPage } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { CheckField, TextField } from '../form/field.tsx';
import { SendForm } from '../form/send-form.tsx';
import { type Sending, useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { capital, count } from '../words/numbers.ts';
import { ruleWord } from '../words/rules.ts';
import { grouped, isSwitch } from './groups.ts';
import { addressOf, type Place, sourceIn } from './places.ts';

type Setting = SettingsPage['settings'][number];
type Typed = Readonly<Record<string, string>>;

interface FormProps {
  readonly place: Place;
  readonly chain: readonly Place[];
  readonly page: SettingsPage;
}

const shown = (value: number): string => String(Math.round(value * 100) / 100);

/** Reads what was typed; leaves out what stands as it stood. */
function changesIn(settings: readonly Setting[], typed: Typed): Record<string, number> {
  const entries = new Entries();
  const changed: Record<string, number> = {};
  for (const { name, value, least, most, unit } of settings) {
    const text = typed[name];
    if (text === undefined) continue;
    const read = entries.needed(name, text);
    if (read < least || read > most)
      entries.fault(name, `Must be ${shown(least)} to ${shown(most)} ${unit}.`);
    else if (read !== value) changed[name] = read;
  }
  entries.check();
  return changed;
}

export function SettingsForm({ place, chain, page }: FormProps) {
  const sending = useSending();
  const typed = useSignal<Typed>({});
  const said = useSignal('');
  const send = async (values: Record<string, number | null>) => {
    await call('putSettings', { params: { scope: place.scope, id: place.id }, body: { values } });
    await refresh();
  };
  const save = async () => {
    said.value = '';
    const values = changesIn(page.settings, typed.value);
    const changed = Object.keys(values).length;
    if (changed > 0) await send(values);
    typed.value = {};
    said.value =
      changed === 0
        ? 'Nothing was changed.'
        : `${capital(count(changed, 'value is', 'values are'))} set here now.`;
  };
  const takeBack = async (name: string) => {
    await send({ [name]: null });
    const { [name]: _, ...others } = typed.value;
    typed.value = others;
    said.value = 'Taken back: what is set above counts again.';
  };
  return (
    <SendForm sending={sending} class="watch-settings" onSend={save}>
      {grouped(page.settings).map(({ heading, settings }) => (
        <fieldset key={heading}>
          <legend>{heading}</legend>
          {settings.map((setting) => (
            <OneSetting
              key={setting.name}
              setting={setting}
              chain={chain}
              text={typed.value[setting.name] ?? shown(setting.value)}
              sending={sending}
              onText={(text) => {
                typed.value = { ...typed.value, [setting.name]: text };
                said.value = '';
              }}
              onTakeBack={() => void sending.send(() => takeBack(setting.name))}
            />
          ))}
        </fieldset>
      ))}
      <Submit sending={sending} words="Save what was changed">
        <p role="status">{said.value}</p>
      </Submit>
    </SendForm>
  );
}

interface OneProps {
  readonly setting: Setting;
  readonly chain: readonly Place[];
  readonly text: string;
  readonly sending: Sending;
  readonly onText: (text: string) => void;
  readonly onTakeBack: () => void;
}

function OneSetting({ setting, chain, text, sending, onText, onTakeBack }: OneProps) {
  const { name, says, unit, from, own } = setting;
  const source = sourceIn(from, chain);
  return (
    <div class={own ? 'one-setting own' : 'one-setting'}>
      {isSwitch(setting) ? (
        <CheckField
          name={name}
          label={`Watch for ${ruleWord(name.replace(/^watch /, ''))}`}
          checked={text === '1'}
          onValue={(checked) => onText(checked ? '1' : '0')}
        />
      ) : (
        <TextField
          name={name}
          label={says}
          unit={unit}
          numeric
          value={text}
          fault={sending.faultOf(name)}
          onValue={onText}
        />
      )}
      <p class="from">
        {source ? (
          <>
            from the {source.scope}: <a href={addressOf(source)}>{source.name}</a>
          </>
        ) : own ? (
          <>
            <b>set here</b> ·{' '}
            <button type="button" class="link" disabled={sending.busy} onClick={onTakeBack}>
              take it back<span class="unseen">: {says}</span>
            </button>
          </>
        ) : (
          from
        )}
      </p>
    </div>
  );
}
