/** How a gateway gets its credentials, and what it sends. */
import { Scroll } from '../marks/scroll.tsx';

const pack = `[{"bn":"urn:dev:mac:0024befffe804ff1:","n":"humidity","u":"%RH","v":42.5},
 {"n":"temperature","u":"Cel","v":20.8}]`;

export function GatewayHelp() {
  return (
    <div class="gateway-help">
      <p>On the machine that runs this service:</p>
      <Scroll label="Command that adds a gateway">
        <pre>npm run manage -- gateway add NAME</pre>
      </Scroll>
      <p>
        It prints a user name and a password for MQTT, and a token for HTTP. The gateway then publishes SenML
        (RFC&nbsp;8428) to <code>readings/NAME</code> with QoS&nbsp;1, or posts the same to{' '}
        <code>/api/readings</code> with the token as bearer:
      </p>
      <Scroll label="Example of a pack of readings">
        <pre>{pack}</pre>
      </Scroll>
    </div>
  );
}
