import { matrixFigures } from '../../src/report/matrix-figure.js';

const END = { need: null, input: null, output: null, verifiedBy: [], validatedBy: [], controls: [] };
const ROWS = [
  {
    ...END,
    need: 'UN-1',
    input: 'DI-1',
    output: 'DO-1',
    verifiedBy: ['DS-1'],
    validatedBy: ['DS-2'],
    controls: ['RC-1'],
  },
  { ...END, need: 'UN-2' },
];
const BACK = [
  {
    study: 'DS-1',
    result: 'met',
    outputs: ['DO-1'],
    inputs: ['DI-1'],
    needs: ['UN-1'],
    controls: ['RC-1'],
    lots: ['L-1'],
  },
  { study: 'DS-2', result: 'open', outputs: [], inputs: [], needs: ['UN-1'], controls: [], lots: [] },
] as const;
const gap = (state: 'open' | 'answered', key: string) => ({ state, subjects: [{ kind: 'user-need', key }] });

it('leads from need to study, control and lot, and marks what has an open gap', () => {
  const [figure, ...more] = matrixFigures('F', ROWS, BACK, [gap('open', 'UN-2'), gap('answered', 'UN-1')]);
  expect(more).toEqual([]);
  for (const told of ['UN-1 to DI-1', 'DI-1 to DO-1', 'DO-1 to DS-1', 'UN-1 to DS-2', 'DS-1 to RC-1', 'DS-1 to L-1']) {
    expect(figure!.alt).toContain(told);
  }
  expect(figure!.alt).toContain('UN-1 (user need)');
  expect(figure!.alt).toContain('UN-2 (user need; a gap is open)');
  const texts = figure!.scene.marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
  for (const code of ['UN-1', 'UN-2', 'DI-1', 'DO-1', 'DS-1', 'DS-2', 'RC-1', 'L-1']) expect(texts).toContain(code);
  // In grey too: a thicker border, and words.
  const boxes = figure!.scene.marks.flatMap((mark) => (mark.kind === 'path' && mark.link ? [mark] : []));
  const borders = boxes.map(({ strokeWidth }) => strokeWidth);
  expect(new Set(borders).size).toBe(2);
  expect(texts).toContain('a gap is open');
  // Each box leads to its page, from need to what rests on it.
  const links = boxes.map(({ link }) => link!);
  expect(links.find(({ label }) => label.startsWith('DI-1'))!.to).toBe(
    '/design/entry?family=F&kind=design-input&key=DI-1',
  );
  expect(links.find(({ label }) => label.startsWith('L-1'))!.to).toBe('/lots/L-1');
  const placeOf = (code: string) => links.findIndex(({ label }) => label.startsWith(`${code}, `));
  const places = ['UN-1', 'DI-1', 'DO-1', 'DS-1', 'L-1'].map(placeOf);
  expect(places).toEqual(places.toSorted((a, b) => a - b));
  expect(links.find(({ label }) => label.startsWith('UN-2'))!.label).toContain('a gap is open');
});

it('draws whole ways as far as there is room, and says how many; nothing of nothing', () => {
  const many = Array.from({ length: 90 }, (_, index) => ({ ...END, need: `UN-${index}` }));
  expect(matrixFigures('F', many, [], [])[0]!.caption).toContain('The first 60 of 90 ways');
  expect(matrixFigures('F', [], [], [])).toEqual([]);
});

it('goes on in a further picture before words get too small, and names there again what a way comes from', () => {
  const fans = Array.from({ length: 40 }, (_, index) => ({ ...END, need: 'UN-1', input: `DI-${index}` }));
  const figures = matrixFigures('F', fans, [], []);
  expect(figures.length).toBeGreaterThan(1);
  for (const { scene, alt } of figures) {
    expect(scene.height).toBeLessThanOrEqual(600);
    expect(alt).toContain('UN-1 (user need)');
  }
  for (const { input } of fans) expect(figures.some(({ alt }) => alt.includes(`UN-1 to ${input}`))).toBe(true);
  const captions = figures.slice(1).map(({ caption }) => caption);
  expect(new Set(captions)).toEqual(new Set(['Further ways of the same table.']));
});

it('leads to a control that no study verifies from the input whose characteristic carries it', () => {
  const carried = [{ ...END, need: 'UN-1', input: 'DI-1', output: 'DO-1', controls: ['RC-9'] }];
  expect(matrixFigures('F', carried, [], [])[0]!.alt).toContain('DI-1 to RC-9');
});

it('counts lots of a study beyond the eighth, each study its own', () => {
  const lots = (study: string) => Array.from({ length: 10 }, (_, index) => `${study}-L-${index}`);
  const studies = ['DS-1', 'DS-2'];
  const rows = [{ ...END, output: 'DO-1', verifiedBy: studies }];
  const back = studies.map((study) => ({ ...BACK[1], study, lots: lots(study) }));
  const { alt } = matrixFigures('F', rows, back, [])[0]!;
  for (const study of studies) {
    expect(alt).toContain(`${study} to ${study}-L-7`);
    expect(alt).not.toContain(`${study}-L-8`);
    expect(alt).toContain(`and 2 lots more (of ${study})`);
  }
});
