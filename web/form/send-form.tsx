/** A form whose faults are said by the page, beside their fields, not by the browser's own balloons. */
import type { ComponentChildren } from 'preact';
import type { Sending } from './sending.ts';

interface SendFormProps {
  readonly sending: Sending;
  /** Throws what stands in the way; see `useSending`. */
  readonly onSend: () => Promise<void>;
  readonly class?: string;
  readonly children: ComponentChildren;
}

export function SendForm({ sending, onSend, class: className, children }: SendFormProps) {
  return (
    <form
      ref={sending.form}
      class={className}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void sending.send(onSend);
      }}
    >
      {children}
    </form>
  );
}
