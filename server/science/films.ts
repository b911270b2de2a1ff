/**
 * What a finish holds back: the resistance of its film to moisture, in s/m of moisture content, so that
 * flux / dry density = (moisture outside - moisture of the surface) / (film + 1/emission).
 *
 * Derivation. Moisture-excluding effectiveness is MEE = 100 (U - C)/U: U and C are what an uncoated and a coated
 * piece of ponderosa pine take up in 1, 7 and 14 days after a step from 30 to 90 %RH at 80 °F.
 * @source Feist-1985 (the conditions), @source WoodHandbook-16-3 and @source FPL-coating-data (the values)
 * The piece is 76 x 127 x 15.9 mm, coated all round (recalled). It is taken as a sheet with its volume to surface
 * ratio, 5.96 mm to the middle, with the wood's transverse diffusivity and, in a chamber with moving air, an emission
 * of 3e-7 m/s. Uptake of a sheet behind a resistance is Crank's series (roots of beta tan beta = Bi).
 * @source Crank-1975
 * For each finish the one resistance that meets the three values best (least squares) is taken; it meets them within
 * 2 % (polyurethane) to 6 % (lacquer), the worst always on the first day, whose uptake depends on the bare wood.
 *
 * From the test's climate to a room's: the film passes vapour, so its resistance in units of moisture is proportional
 * to the slope of the sorption curve and to 1/saturation pressure. From 30-90 %RH at 26.7 °C to 25-60 %RH at 20 °C the
 * slope falls by 0.68 and the inverse pressure rises by 1.50: 1.02 together, and left out.
 */
export type Finish = 'bare' | 'shellac' | 'lacquer' | 'varnish' | 'polyurethane';

export const FINISHES: readonly Finish[] = ['bare', 'shellac', 'lacquer', 'varnish', 'polyurethane'];

/**
 * s/m. Shellac, nitrocellulose lacquer and spar varnish in two coats, oil-modified urethane varnish in three:
 * MEE 84/43/20, 70/22/8, 80/36/15 and 90/64/44 %.
 */
const RESISTANCE: Readonly<Record<Finish, number>> = {
  bare: 0,
  lacquer: 5.6e7,
  varnish: 8.7e7,
  shellac: 1.07e8,
  polyurethane: 2.19e8,
};

/** Resistance of the film of a finish, s/m. */
export function filmResistanceSPerM(finish: Finish): number {
  return RESISTANCE[finish];
}
