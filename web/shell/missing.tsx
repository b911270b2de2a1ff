import { Page } from './page.tsx';

export function MissingPage() {
  return (
    <Page title="Not found" narrow>
      <h1>There is nothing under this address</h1>
      <p class="lead">
        Perhaps it was mistyped. Go on to <a href="/">the rounds</a> or to{' '}
        <a href="/instruments">all instruments</a>.
      </p>
    </Page>
  );
}
