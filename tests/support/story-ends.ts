/** How the stories of the demo end, whoever walks them: each implant of each lot, and what page 1 of its record tells. */

const FOR_BOTH = 'sterilisation, distribution';

/** Serial, decision, what it is released for, and whether it is on hold. */
type End = readonly [serial: string, decision: string, releasedFor: string, isOnHold: boolean];

export const STORY_ENDS: readonly (readonly [lot: string, ends: readonly End[]])[] = [
  ['C-2026-01', [1, 2, 3].map((n): End => [`CP-31-${n}`, 'released', FOR_BOTH, false])],
  [
    'C-2026-02',
    [
      ['CP-32-1', 'rejected', '', true],
      ['CP-32-2', 'rejected', '', true],
      ['CP-32-3', 'released', FOR_BOTH, true],
    ],
  ],
  [
    'C-2026-03',
    [
      ...[1, 2, 3].map((n): End => [`CP-33-${n}`, 'released', FOR_BOTH, false]),
      // It went on in a lot of its own.
      ['CP-33-4', 'open', '', false],
    ],
  ],
  ['C-2026-04', [['CP-33-4', 'released', FOR_BOTH, false]]],
];

export const STORY_EXCEPTIONS: readonly (readonly [lot: string, told: readonly RegExp[]])[] = [
  [
    'C-2026-01',
    [
      /2 nonconformities: NC-31-1, NC-31-2/,
      /Let go as it is by the concession of NC-31-2, by CP-DRG-2/,
      /Reworked by RW-31 rev 1 for NC-31-1 \(CP-31-2\)/,
      /2 tests of replacements in rows 14, 15/,
      /1 invalid test in row 3/,
      /1 result that a rework set aside in row 9/,
      /Loads kept their limits: 1 finding accepted by decision/,
      /Degradation rate on the bench: due after release and open/,
    ],
  ],
  [
    'C-2026-02',
    [
      /Case not cancelled: fails \(CP-32-2\)/,
      /Built iteration still current: fails \(CP-32-1\)/,
      /rejected by Tomas Okoro/,
      /Loads kept their limits: 1 finding accepted by decision/,
    ],
  ],
  [
    'C-2026-03',
    [/near its limit: .*4 cases in 2026 of type coated-plate/, /Went on in lot C-2026-04 by move MV-33 \(CP-33-4\)/],
  ],
  [
    'C-2026-04',
    [
      /Came over from lot C-2026-03, where it was built, by move MV-33 \(CP-33-4\)/,
      /Loads kept their limits: 1 finding accepted by decision/,
    ],
  ],
];

/** Of the second lot a plate that left is held by the recall of its heat. */
export const standsAs = (lot: string): RegExp =>
  lot === 'C-2026-02' ? /NOT FINAL/ : /FINAL: every implant is rejected, gone, or released for distribution/;
