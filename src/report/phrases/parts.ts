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
  nodes: [
    fieldNode('Thickness', { help: 'Where it is thinnest.', value: '1,5', unit: 'mm' }),
    fieldNode('Day', { type: 'date', errors: ['Nothing yet, and it is needed'] }),
    {
      ...{
        is: 'list',
        path: 'heats',
        label: 'Heats',
        help: undefined,
        errors: [],
        mayMiss: true,
        kept: ['heats[0]:row'],
      },
      rows: [fieldNode('Heat', { value: 'H-1', less: { action: 'less:heats[0]', text: 'Take away: heat 1' } })],
      more: { action: 'more:heats', text: 'One more: heats' },
    },
  ],
  ticks: {
    ...{ is: 'ticks', path: 'rules', label: 'Rules', help: 'Each asks for a look.', errors: [] },
    options: [
      { value: 'the first', isTicked: true },
      { value: 'the second', isTicked: false },
    ],
  },
  sheet: {
    unit: 'mm',
    rows: [
      sheetRow('X-1-1', '1.50', []),
      sheetRow('X-1-2', '1.05', ['The first person typed 1.50, you typed 1.05; look at the source once more']),
    ],
  },
  drafts: [{ to: '/parts', says: 'a receipt, last changed 2031-03-04 08:15 UTC' }],
  steps: [
    { href: '/parts', title: 'Implants and coupons' },
    { href: '/parts', title: 'Powder and gas' },
  ],
  scans: [{ name: 'certificate.svg', href: '/assets/mark.svg', is: 'picture' }],
  said: [
    { label: 'Receipt', value: 'R-1', inner: [] },
    { label: 'Certificate', value: undefined, inner: [{ label: 'Number', value: 'C-7', inner: [] }] },
  ],
  job: { isOpen: true, percent: 42, says: 'Two of five things are done.', left: 'About 20 s more.', why: [] },
  problems: [
    {
      ...{ where: 'lots/X-1/lot.yaml, line 12, mass', found: '"12 g"', expected: 'a decimal number' },
      remedy: 'write the number alone',
    },
  ],
  bringIn: { to: '/parts', pieceBytes: 8_388_608, limits: 'At most so many files.', button: 'Send and check' },
  turn: {
    page: { before: 1, next: 41, from: 21, of: 90, rows: Array.from({ length: 20 }) },
    address: '?from=',
    what: 'things',
  },
  lots: [
    {
      ...{
        lot: 'X-1',
        to: '/parts',
        family: 'PLATE',
        neededBy: '2031-05-04',
        stageSays: 'tested',
        state: '1 of 2 conform',
      },
      ...{ waitsFor: 'Ada Lovelace', outOfDate: false, ofEarlierVersion: false, record: null },
      units: [
        { serial: 'X-1-1', verdict: 'conforms', decision: 'open', releasedFor: [], hold: null },
        { serial: 'X-1-2', verdict: 'does not conform', decision: 'open', releasedFor: [], hold: null },
      ],
    },
  ],
  summary: {
    exceptions: [{ says: 'X-1-2: thickness 1.05 mm, misses 1.45 to 1.55 mm.', to: '/parts' }],
    columns: [{ title: 'Thickness', unit: 'mm', limits: '1.45 to 1.55', on: 'implant', to: '/parts' }],
    rows: [summaryRow('X-1-1', 'conforms', '1.50'), summaryRow('X-1-2', 'does not conform', '1.05')],
    askedOf: [],
    counts: {},
    notChecked: ['what happens in the operating room'],
  },
  records: [
    {
      ...{ number: 'LR-X-1', revision: 1, recordedAt: '2031-03-04 08:15 UTC', draft: true, final: false },
      ...{ dossierDigest: '0123456789abcdef', fileSha256: 'fedcba9876543210' },
    },
  ],
  lot: 'X-1',
  ways: [
    {
      need: [{ href: '/parts', text: 'N-1' }],
      title: 'What somebody needs',
      others: [[{ href: '/parts', text: 'I-1' }], [], [], [], []],
    },
  ],
  gaps: [
    {
      ...{ title: 'A need without an input', says: 'Nothing answers to it.', of: [{ href: '/parts', text: 'N-1' }] },
      ...{ who: 'Ada Lovelace', by: '2031-05-04', stateSays: 'open', answerSays: '', state: 'open' },
      ...{ remedy: 'Enter a design input.', rule: 'need-without-input', id: '0123456789ab' },
    },
  ],
  characteristic: 'Thickness',
  able: 'What a reader has to know of it, in a sentence.',
  around: 'What the log of an invented build showed',
};

function fieldNode(label: string, more: object) {
  const path = label.toLowerCase();
  return {
    ...{
      is: 'field',
      path,
      name: path,
      label,
      help: undefined,
      errors: [],
      value: '',
      mayMiss: false,
      unit: undefined,
    },
    ...{ type: 'text', local: undefined, known: undefined, isFile: false, options: undefined, less: undefined },
    ...more,
  };
}

function sheetRow(specimen: string, value: string, wrong: readonly string[]) {
  const cell = (field: string, text: string, errors: readonly string[]) => ({
    ...{ field, name: `${field} ${specimen}`, label: `${field} of ${specimen}`, value: text, wrong: errors },
  });
  const more = ['standardUncertainty', 'piece'].map((field) => cell(field, '', []));
  return { specimen, n: undefined, cells: [cell('value', value, wrong), ...more] };
}

function summaryRow(serial: string, verdict: string, shown: string) {
  const cells = [{ verdict, values: [{ shown, to: '/parts' }] }];
  return { serial, verdict, case: 'K-1', site: 'an invented site', to: '/parts', cells };
}
