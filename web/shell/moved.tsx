/** An address of before leads on to where its page stands now; going back skips it. */

import { useEffect } from 'preact/hooks';
import { useLocation } from 'preact-iso';

export function Moved({ to }: { readonly to: string }) {
  const { route } = useLocation();
  useEffect(() => route(to, true), [route, to]);
  return null;
}
