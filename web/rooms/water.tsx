/** How large a humidifier the room needs, and what its windows bear. */
import type { RoomDetail } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { percent, plain } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';

const litres = (value: number): string => `${plain(value, value < 10 ? 1 : 0)}\u00a0l`;

export function Water({ room }: { readonly room: RoomDetail }) {
  const { water, outdoors, windowsDryUpToPct } = room;
  return (
    <section class="room-section" aria-labelledby="water">
      <h2 id="water">Humidifier and windows</h2>
      {water === null ? (
        <p>
          How much water it takes cannot be told without the volume and the air changes of the room:{' '}
          <a href={`/settings/rooms/${room.id}`}>enter them</a>.
        </p>
      ) : (
        <>
          <p>{water.sentence}</p>
          <Scroll label="Litres a day by weather">
            <table>
              <Heads of={['Weather', number('Litres a day')]} />
              <tbody>
                {water.weathers.map((one) => (
                  <tr key={one.says}>
                    <th scope="row">{one.says}</th>
                    <td class="n">{litres(one.litresPerDay)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
          <p class="quiet">
            From {plain(room.volumeM3 ?? 0)} m³, {plain(room.airChangesPerHour ?? 0, 2)} air changes an hour
            and {degrees(water.temperatureC)}: vapour in less vapour out. What walls and books take up evens
            out over days.
          </p>
        </>
      )}
      <p>
        {outdoors === null
          ? 'Nothing is known of the weather here: place a sensor outdoors, or type the coming days, and the windows can be minded.'
          : windowsDryUpToPct === null
            ? ''
            : `Tonight, down to ${degrees(outdoors.lowC)}, the windows stay dry up to ${percent(windowsDryUpToPct)}${room.glazing == null ? ', if they are double' : ''}.`}{' '}
        <a href={`/venues/${room.venueId}/weather`}>Weather to come</a>
      </p>
    </section>
  );
}
