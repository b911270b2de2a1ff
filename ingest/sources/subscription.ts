/**
 * What is asked of a broker elsewhere.
 *
 * @source MQTT 5.0 section 4.7.1 (wildcards), 4.8.2 (shared subscriptions), 3.8.3.1 (subscription options)
 */

/** Whole levels may be +, the last one #. */
export const filterForm = /^(?:(?:\+|[^+#/\0]*)\/)*(?:\+|#|[^+#/\0]*)$/;
/** A share's name is at least one character and holds none of / + #. */
export const shareForm = /^[^+#/\0]+$/;

export interface Subscription {
  readonly filter: string;
  readonly options: { readonly qos: 1; readonly rh?: 2 };
}

/** @param group collectors of one group share the messages among them */
export function subscriptionTo(
  topic: string,
  group: string | undefined,
  protocolVersion: 4 | 5,
): Subscription {
  if (group) return { filter: `$share/${group}/${topic}`, options: { qos: 1 } };
  // What the broker has retained is no reading of now: not asked for, where it can be said (retain handling 2). For a
  // shared subscription none is sent anyway.
  return { filter: topic, options: protocolVersion === 5 ? { qos: 1, rh: 2 } : { qos: 1 } };
}
