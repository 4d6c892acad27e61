/** Invented content for the page that shows the parts of pages. */
export const PARTS = {
  verdicts: ['conforms', 'does not conform', 'cannot be decided'],
  levels: ['alert', 'action', 'reject'],
  units: [
    { serial: 'X-1-1', verdict: 'conforms', decision: 'open', releasedFor: [], hold: null },
    { serial: 'X-1-2', verdict: 'cannot be decided', decision: 'open', releasedFor: [], hold: 'an invented reason' },
  ],
  head: {
    next: {
      says: 'The one thing that the person who looks should do next.',
      button: { text: 'Do it', href: '/parts' },
    },
  },
  blockers: [
    {
      effect: 'cannot be decided',
      says: 'Something invented is missing.',
      clearedBy: 'Analyst: measure it.',
      findings: [],
      units: ['X-1-2'],
    },
  ],
  due: [
    { what: 'calibration', on: '2031-02-01', isOver: true },
    { what: 'maintenance', on: '2031-09-01', isOver: false },
  ],
  field: { name: 'example', label: 'A field', hint: 'What helps to fill it in.', type: 'text', required: true },
  wrong: [{ field: 'example', says: 'Say what is missing, in words for the person.' }],
};
