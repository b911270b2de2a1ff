/** A form whose faults are said by the page, beside their fields, not by the browser's own balloons. */
import type { ComponentChildren } from 'preact';
import type { Sending } from './sending.ts';

interface SendFormProps {
  readonly sending: Sending;
  /** Throws what stands in the way; see `useSending`. */
  readonly onSend: () => Promise<void>;
  readonly class?: string;
  /** What it is for, where no heading says so. */
  readonly label?: string;
  readonly children: ComponentChildren;
}

export function SendForm({ sending, onSend, class: className, label, children }: SendFormProps) {
  return (
    <form
      ref={sending.form}
      class={className}
      aria-label={label}
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
