import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { SITE_DOCUMENTS, SITE_FILES } from '../support/documents/site.js';
import { openServices, type Services } from '../support/services.js';

/** A small cell with one lot, and with a document of each further kind of the site. */
function wholeSite(): Cell {
  const cell = makeCell();
  Object.assign(cell.documents, structuredClone(SITE_DOCUMENTS));
  Object.assign(cell.files, SITE_FILES);
  Object.assign(cell.documents['site/cases/L-1-1.yaml']!, {
    surgeryOn: '2031-12-20',
    otherMetals: 'none',
    usedUnder: 'EU',
    prescriptionFile: 'prescription.pdf',
    status: { is: 'open', by: 'P-QE', at: '2031-01-21T09:00:00+01:00' },
  });
  cell.documents['site/family.yaml']!.laws = [{ law: 'EU', route: 'custom-made', class: 'III', deviceType: 'plate' }];
  cell.files['site/cases/prescription.pdf'] = 'prescription (invented)\n';
  return cell;
}

const keyOf = (document: Cell['documents'][string]): string => {
  const kind = kindNamed(document.kind)!;
  return kind.key(kind.schema.parse(document));
};

describe('a site with a document of each kind', () => {
  let services: Services;
  const folder = () => writeCell(wholeSite());
  beforeAll(async () => {
    const data = path.join(temporaryFolder('data'), 'data');
    services = await openServices(DataFolder.createDemo(data, '2031-12-01T12:00:00Z'));
    await services.intake.run(folder(), 'local:tester');
  });
  afterAll(() => services.store.close());

  it('is stored whole, each document under its kind and key', async () => {
    for (const document of Object.values(SITE_DOCUMENTS)) {
      const stored = await services.store.read.entries.current(document.kind, keyOf(document));
      // Intake finds the digest of a mesh itself.
      expect(stored?.body).toMatchObject(kindNamed(document.kind)!.schema.parse(document) as object);
    }
  });

  it('changes nothing when it is taken in again', async () => {
    const before = await services.store.read.ledger.size();
    const report = await services.intake.run(folder(), 'local:tester');
    expect(report.documents).toEqual([]);
    expect(report.unchangedDocuments).toBe(Object.keys(wholeSite().documents).length);
    expect(await services.store.read.ledger.size()).toBe(before);
  });

  it('lets no later revision make a family of another alloy once lots of it are there', async () => {
    const cell = wholeSite();
    Object.assign(cell.documents['site/family.yaml']!, { revision: 2, alloy: 'Zn-Mg' });
    const given = services.intake.run(writeCell(cell), 'local:tester');
    await expect(given).rejects.toMatchObject({
      problems: [{ field: 'alloy', found: '"Zn-Mg"; lots of the family, such as L-1, are of "Mg-Zn-Ca"' }],
    });
  });

  it('is found by trace, each document under its code', async () => {
    for (const document of Object.values(SITE_DOCUMENTS)) {
      const key = keyOf(document);
      const { matches } = await services.tracer.trace(key);
      expect(matches.map(({ entry }) => `${entry.kind} ${entry.key}`)).toContain(`${document.kind} ${key}`);
    }
  });

  it('tells of an implant where it is and what was said of it, and of what it came from nothing of other cases', async () => {
    const traced = async (id: string, kind: string) =>
      (await services.tracer.trace(id)).matches.find(({ entry }) => entry.kind === kind)!;
    const { forward, back } = await traced('L-1-I1', 'implant');
    const kindsIn = (nodes: typeof forward) => new Set(nodes!.map(({ kind }) => kind));
    expect([...kindsIn(forward)]).toEqual(
      expect.arrayContaining(['handover', 'outcome', 'complaint', 'recall', 'case']),
    );
    expect(forward!.some(({ key }) => key.startsWith('L-1-I2'))).toBe(false);
    expect(back!.some(({ kind, key }) => kind === 'implant' || key === 'K-101-2')).toBe(false);
    expect([...kindsIn(back)]).toEqual(expect.arrayContaining(['exposure', 'test-medium', 'impact']));
    for (const node of back!) {
      const from = await traced(node.key, node.kind);
      expect([node.kind, node.key, from.forward!.some(({ key }) => key === 'L-1-I1')]).toEqual([
        node.kind,
        node.key,
        true,
      ]);
    }
  });

  it('follows a need to its input, its study and back', async () => {
    const [need] = (await services.tracer.trace('UN-1')).matches;
    expect(need!.forward!.map(({ kind }) => kind)).toEqual(
      expect.arrayContaining(['design-input', 'design-output', 'design-study', 'specification']),
    );
    const study = (await services.tracer.trace('DS-1')).matches.find(({ entry }) => entry.kind === 'design-study')!;
    expect(study.back!.map(({ key }) => key)).toEqual(expect.arrayContaining(['UN-1', 'DI-1', 'DO-1', 'L-1']));
  });

  it('keeps apart what tells who a patient is, and its file name nowhere', async () => {
    for (const [kind, key] of [
      ['imaging-set', 'IM-1'],
      ['outcome', 'L-1-I1:1'],
      ['complaint', 'CP-1'],
      ['case', 'K-101-1'],
    ] as const) {
      const { revision } = (await services.store.read.entries.current(kind, key))!;
      const named = await services.store.read.entries.evidenceNamedBy([{ kind, key, revision }]);
      const personal = named.filter(({ name }) => name === 'personal data');
      expect([kind, personal.length]).toEqual([kind, 1]);
      expect(personal[0]!.fileName).toBe('personal data');
    }
  });

  it('leaves the lot file without the story of the design, of other lots, and of units that are out', async () => {
    const { facts } = await services.assessor.assess('L-1', 'local:tester');
    const carried = new Set(facts.dossier.pinned.map(({ kind }) => kind));
    expect(carried).toContain('recipe');
    const apart = ['design-study', 'design-output', 'handover', 'recall', 'capability-plan', 'baseline', 'case-design'];
    expect(apart.filter((kind) => carried.has(kind))).toEqual([]);
  });
});

interface BadCase {
  readonly what: string;
  readonly spoil: (documents: Cell['documents']) => void;
  readonly expected: Partial<Problem>;
}

const planIn = (documents: Cell['documents']) =>
  Object.values(documents).find(({ kind }) => kind === 'capability-plan')!;

const CASES: readonly BadCase[] = [
  {
    what: 'a capability plan over another alloy than that of its family',
    spoil: (documents) => {
      planIn(documents).pools.alloy = 'Zn-Mg';
    },
    expected: { code: 'contradiction', field: 'pools.alloy', found: '"Zn-Mg"' },
  },
  {
    what: 'a capability plan for what its specification does not know',
    spoil: (documents) => {
      planIn(documents).characteristic = 'hardness';
    },
    expected: { code: 'contradiction', field: 'characteristic', found: '"hardness"' },
  },
  {
    what: 'a capability plan by the specification of another family',
    spoil: (documents) => {
      const other = { ...documents['site/family.yaml']!, family: 'PIN' };
      documents['site/other-family.yaml'] = other;
      planIn(documents).family = 'PIN';
    },
    expected: { code: 'contradiction', field: 'specification', found: 'SP revision 3, of family PLATE' },
  },
  {
    what: 'an outcome of another signal than its plan, rule and points are',
    spoil: (documents) => {
      const outcome = Object.values(documents).find(({ kind }) => kind === 'signal-outcome')!;
      outcome.points = ['M1-102'];
    },
    expected: {
      code: 'contradiction',
      field: 'signal',
      expected: expect.stringContaining('beyondThreeSigma of CAP-RM revision 1 at M1-102'),
    },
  },
  {
    what: 'an imaging set of a case that nobody knows',
    spoil: (documents) => {
      documents['site/cases/images.yaml']!.case = 'K-9';
    },
    expected: { code: 'unknown-reference', file: 'site/cases/images.yaml', field: 'case', found: 'case K-9' },
  },
  {
    what: 'the acceptance of an iteration that was never drawn',
    spoil: (documents) => {
      documents['site/cases/acceptance.yaml']!.iteration = 2;
    },
    expected: { code: 'unknown-reference', field: 'case', found: 'case design K-101-1 revision 2' },
  },
  {
    what: 'images that are not there',
    spoil: (documents) => {
      documents['site/cases/images.yaml']!.file = 'other.zip';
    },
    expected: { code: 'file-missing', field: 'file' },
  },
  {
    what: 'a unit of measure that nobody knows',
    spoil: (documents) => {
      documents['site/degradation/exposure.yaml']!.control.ucum = 'mmpy';
    },
    expected: { code: 'unit', field: 'control.ucum', found: 'mmpy' },
  },
  {
    what: 'a handover of a unit that was never made',
    spoil: (documents) => {
      documents['site/out/handover.yaml']!.implants.push('L-9-I1');
    },
    expected: { code: 'unknown-reference', field: 'implants[2]', found: 'implant L-9-I1' },
  },
  {
    what: 'more powder destroyed than there was',
    spoil: (documents) => {
      documents['site/out/disposal.yaml']!.powder[0].massG = '1000000';
    },
    expected: {
      code: 'more-taken-than-there-was',
      found: '1000180 g taken of 1000000 g of powder state PS-1: 1000000 g by disposal DI-1 + 180 g by build M1-101',
    },
  },
  {
    what: 'an outcome told twice under one number',
    spoil: (documents) => {
      documents['site/out/again.yaml'] = { ...documents['site/out/outcome.yaml']!, what: 'not used' };
    },
    expected: { code: 'duplicate-key', file: 'site/out/outcome.yaml' },
  },
  {
    what: 'an impact of a kind of thing that nobody knows',
    spoil: (documents) => {
      documents['site/out/impact.yaml']!.cause = { kind: 'balance', key: 'I-RIG' };
    },
    expected: { code: 'unknown-reference', field: 'cause', found: 'balance I-RIG' },
  },
  {
    what: 'a baseline of a revision that was never recorded',
    spoil: (documents) => {
      documents['site/design/baseline.yaml']!.members[1].revision = 9;
    },
    expected: { code: 'unknown-reference', field: 'members[1]', found: 'recipe RC revision 9' },
  },
  {
    what: 'a name of a patient in a complaint',
    spoil: (documents) => {
      documents['site/out/complaint.yaml']!.received.patientInitials = 'A. B.';
    },
    expected: { code: 'patient-field', field: 'received.patientInitials' },
  },
  {
    what: 'a drill that nobody marked as one',
    spoil: (documents) => {
      delete documents['site/out/recall.yaml']!.drill;
    },
    expected: { code: 'missing-field', file: 'site/out/recall.yaml', field: 'drill' },
  },
  {
    what: 'what contradicts itself',
    spoil: (documents) => {
      documents['site/degradation/exposure.yaml']!.massG.afterCleaning = '1.93';
    },
    expected: { code: 'contradiction', field: 'massG.afterCleaning', found: '1.93' },
  },
];

describe('a site with a fault', () => {
  let services: Services;
  beforeAll(async () => {
    services = await openServices(path.join(temporaryFolder('data'), 'data'));
  });
  afterAll(() => services.store.close());

  it.each(CASES)('is refused whole: $what', async ({ spoil, expected }) => {
    const cell = wholeSite();
    spoil(cell.documents);
    const before = await services.store.read.ledger.size();
    const error = await services.intake.run(writeCell(cell), 'local:tester').then(
      () => undefined,
      (caught: unknown) => caught,
    );
    expect(error).toBeInstanceOf(BadInputError);
    const { problems } = error as BadInputError;
    expect(problems).toContainEqual(expect.objectContaining(expected));
    for (const { line, remedy } of problems) {
      expect(line).toBeGreaterThan(0);
      expect(remedy.length).toBeGreaterThan(3);
    }
    expect(await services.store.read.ledger.size()).toBe(before);
  });
});
