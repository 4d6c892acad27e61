/** The yearly drill, on the heat of the coated plates, closed once each of them was found. */
export const DRILL = {
  recall: 'DRILL-2026-1',
  query: 'H8120',
  trigger: 'yearly drill: the certificate of a heat is taken for withdrawn (fictional)',
  reason: 'held once a year',
  aimHours: '4',
  lessons: 'two scrapped plates lay in another drawer than the list says: its place is on the list now (fictional)',
  begins: '2026-11-23T08:00:00Z',
  foundAt: '2026-11-23T10:00:00Z',
  closes: '2026-11-23T10:40:00Z',
} as const;
