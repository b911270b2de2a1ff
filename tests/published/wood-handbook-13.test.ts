/**
 * How far wood moves.
 * Source: USDA Forest Products Laboratory, Wood Handbook FPL-GTR-190: table 13-5 (coefficients; hardwoods read, softwoods
 * read through a public file that reproduces the table), table 4-3 (shrinkage; marked where recalled), page 13-17 (example).
 */
import { describe, expect, test } from 'vitest';
import {
  type Direction,
  movementPerPct,
  SPECIES,
  type Species,
  shrinkagePct,
  sizeChange,
  sizeChangeWideRange,
} from '../../server/science/index.ts';

const TABLE_13_5: readonly (readonly [species: Species, radial: number, tangential: number])[] = [
  ['spruce-sitka', 0.00148, 0.00263],
  ['spruce-engelmann', 0.0013, 0.00248],
  ['spruce-red', 0.0013, 0.00274],
  ['spruce-white', 0.0013, 0.00274],
  ['spruce-black', 0.00141, 0.00237],
  ['maple-sugar', 0.00165, 0.00353],
  ['beech-american', 0.0019, 0.00431],
  ['yellow-poplar', 0.00158, 0.00289],
  ['birch-yellow', 0.00256, 0.00338],
];

/** Shrinkage green to dry, %: the last five recalled, the others read. */
const TABLE_4_3: readonly (readonly [species: Species, radial: number, tangential: number])[] = [
  ['yellow-poplar', 4.6, 8.2],
  ['beech-american', 5.5, 11.9],
  ['birch-yellow', 7.3, 9.5],
  ['spruce-engelmann', 3.8, 7.1],
  ['spruce-sitka', 4.3, 7.5],
  ['spruce-red', 3.8, 7.8],
  ['spruce-white', 3.8, 7.8],
  ['spruce-black', 4.1, 6.8],
  ['maple-sugar', 4.8, 9.9],
];

/** The relation found between the tables, coefficients printed to 1e-5: C = (S/30)/(100 - 20 S/30). */
const coefficient = (shrinkage: number) => shrinkage / 30 / (100 - (20 * shrinkage) / 30);

describe('Wood Handbook, chapter 13', () => {
  test.each(TABLE_13_5)('table 13-5, %s', (species, radial, tangential) => {
    expect(movementPerPct(species, 'radial')).toBe(radial);
    expect(movementPerPct(species, 'tangential')).toBe(tangential);
  });

  test.each(TABLE_4_3)(
    'table 4-3, %s, and its coefficients to the last digit but one',
    (species, radial, tangential) => {
      const pairs: readonly (readonly [Direction, number])[] = [
        ['radial', radial],
        ['tangential', tangential],
      ];
      for (const [direction, shrinkage] of pairs) {
        expect(shrinkagePct(species, direction)).toBe(shrinkage);
        expect(Math.abs(coefficient(shrinkage) - movementPerPct(species, direction))).toBeLessThan(1.05e-5);
      }
    },
  );

  // The published shrinkages (read) and coefficients of woods a piano is not made of: the relation is no accident.
  test.each([
    ['basswood', 6.6, 9.3, 0.0023, 0.0033],
    ['walnut', 5.5, 7.8, 0.0019, 0.00274],
    ['cherry', 3.7, 7.1, 0.00126, 0.00248],
    ['white ash', 4.9, 7.8, 0.00169, 0.00274],
    ['white fir', 3.3, 7.0, 0.00112, 0.00245],
    ['Douglas-fir', 4.8, 7.6, 0.00165, 0.00267],
  ])('C = (S/30)/(100 - 20 S/30) for %s', (_, radial, tangential, perPctRadial, perPctTangential) => {
    expect(Math.abs(coefficient(radial) - perPctRadial)).toBeLessThan(1.05e-5);
    expect(Math.abs(coefficient(tangential) - perPctTangential)).toBeLessThan(1.05e-5);
  });

  test('every species is in both tables', () => {
    expect([...SPECIES].sort()).toEqual(TABLE_13_5.map(([species]) => species).sort());
    expect([...SPECIES].sort()).toEqual(TABLE_4_3.map(([species]) => species).sort());
  });

  test('page 13-17: a flat-sawn white fir board of 232 mm (coefficient 0.00245) from 8 to 11 % grows by 1.7 mm', () => {
    const grown = sizeChange(232, 0.00245, 8, 11);
    // As printed, to 0.1 mm; the same in inches, 9.15 in growing by 0.067 in.
    expect(Math.abs(grown - 1.7)).toBeLessThan(0.05);
    expect(Math.abs(sizeChange(9.15, 0.00245, 8, 11) - 0.067)).toBeLessThan(0.0005);
    expect(232 + grown).toBeCloseTo(233.7, 1);
  });

  test('(13-3), form recalled: the same board by its shrinkage of 7.0 or 7.1 %, to the digits computed', () => {
    expect(sizeChangeWideRange(232, 7.0, 8, 11)).toBeCloseTo(1.7119, 4);
    expect(sizeChangeWideRange(232, 7.1, 8, 11)).toBeCloseTo(1.7377, 4);
  });

  test('between 6 and 14 % the two forms agree within 3 % of the change', () => {
    for (const species of SPECIES) {
      const wide = sizeChangeWideRange(1, shrinkagePct(species, 'radial'), 6, 14);
      expect(Math.abs(wide / sizeChange(1, movementPerPct(species, 'radial'), 6, 14) - 1)).toBeLessThan(0.03);
    }
  });

  test('(13-3) reaches the published shrinkage from green (30 %) to dry', () => {
    for (const species of SPECIES) {
      const shrinkage = shrinkagePct(species, 'tangential');
      expect(sizeChangeWideRange(100, shrinkage, 30, 0)).toBeCloseTo(-shrinkage, 10);
    }
  });
});
