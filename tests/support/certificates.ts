/** Certificates made by openssl: an authority, a server's and a client's signed by it, and a stranger's. */
import { spawnSync } from 'node:child_process';

/** Writes ca.pem, server.pem, server.key, client.pem, client.key, stranger.pem and stranger.key into the folder. */
export function makeCertificates(folder: string): void {
  const openssl = (...words: string[]) => {
    const { status, stderr } = spawnSync('openssl', words, { cwd: folder });
    if (status !== 0) throw new Error(String(stderr));
  };
  const key = ['-newkey', 'rsa:2048', '-nodes', '-days', '2'];
  openssl('req', '-x509', ...key, '-keyout', 'ca.key', '-out', 'ca.pem', '-subj', '/CN=test authority');
  for (const name of ['server', 'client']) {
    const san = ['-addext', 'subjectAltName=IP:127.0.0.1'];
    openssl(
      ...['req', '-x509', '-CA', 'ca.pem', '-CAkey', 'ca.key', ...key, ...san],
      ...['-keyout', `${name}.key`, '-out', `${name}.pem`, '-subj', `/CN=${name}`],
      ...['-addext', 'basicConstraints=critical,CA:FALSE'],
    );
  }
  openssl('req', '-x509', ...key, '-keyout', 'stranger.key', '-out', 'stranger.pem', '-subj', '/CN=stranger');
}
