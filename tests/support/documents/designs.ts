import { sha256Hex } from '../../../src/dossier/canonical.js';
import type { Cell } from '../cell.js';

/** The envelope and the program that designs of the cell name. All invented. */
const SITE: Cell['documents'] = {
  'site/route/envelope.yaml': {
    kind: 'design-envelope',
    format: 1,
    envelope: 'ENV',
    revision: 1,
    title: 'Plates of the lower jaw',
    family: 'PLATE',
    parameters: [{ parameter: 'length', ucum: 'mm', min: '20', max: '60' }],
    sites: ['invented site'],
    sides: ['left', 'right'],
    imageAgeDays: 365,
    effectiveFrom: '2031-01-11T00:00:00+01:00',
    approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  },
  'site/route/permission.yaml': {
    kind: 'route-permission',
    format: 1,
    permission: 'RP-1',
    revision: 1,
    title: 'Custom-made plates',
    family: 'PLATE',
    law: 'EU',
    route: 'custom-made',
    body: 'Invented Body 9999',
    number: 'IB-77',
    scope: 'plates of Mg-Zn-Ca',
    from: '2031-01-01',
    to: '2035-12-31',
    cardDecision: { card: 'no', why: 'plates are exempt (invented)' },
    approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  },
  'site/design/software.yaml': {
    kind: 'software',
    format: 1,
    software: 'CAD',
    revision: 1,
    title: 'Drawing program',
    version: '7.1',
    use: 'from images to the model',
    validatedBy: { report: 'SV-1', on: '2030-05-01', by: 'P-QE' },
    approval: { by: 'P-QE', at: '2031-01-10T09:00:00+01:00' },
  },
};

const model = (code: string): string => `solid plate for ${code} (invented)\n`;

/** Everything that a law asks of the two cases of a lot of the cell: images, an approved design, its acceptance. */
export function addDesigns(cell: Cell, lot = 'L-1', law: string | null = 'EU'): void {
  Object.assign(cell.documents, structuredClone(SITE));
  Object.assign(cell.documents['site/family.yaml']!, {
    manufacturer: { name: 'Invented Implants', address: 'Invented Street 1', sites: ['Invented Street 1'] },
    conformity: { substances: 'none' },
  });
  for (const n of [1, 2]) {
    const document = cell.documents[`site/cases/${lot}-${n}.yaml`]!;
    const code: string = document.case;
    if (law !== null) document.usedUnder = law;
    document.prescribedCharacteristics = 'plate of two holes (invented)';
    const add = (name: string, body: Cell['documents'][string]) => {
      cell.documents[`site/cases/${code}-${name}.yaml`] = { format: 1, case: code, ...body };
    };
    add('images', {
      kind: 'imaging-set',
      imagingSet: `IM-${code}`,
      takenOn: '2031-01-10',
      modality: 'CT',
      sliceMm: '0.6',
      sha256: 'ab'.repeat(32),
      received: { by: 'P-OP', at: '2031-01-12T09:00:00+01:00' },
    });
    add('design', {
      kind: 'case-design',
      revision: 1,
      title: `Plate for ${code}`,
      envelope: { envelope: 'ENV', revision: 1 },
      parameters: [{ parameter: 'length', value: '42', ucum: 'mm' }],
      anatomicalSite: document.anatomicalSite,
      side: document.side,
      marking: `${code} ${document.side === 'left' ? 'L' : 'R'}`,
      model: { file: `${code}.stl`, ucum: 'mm' },
      zones: [{ zone: 'span', box: { from: { x: '0', y: '0', z: '0' }, to: { x: '42', y: '8', z: '1.5' } } }],
      recipe: { recipe: 'RC', revision: 2 },
      software: [{ software: 'CAD', revision: 1 }],
      imagingSets: [`IM-${code}`],
      designer: 'P-AN',
      approval: { by: 'P-QE', at: '2031-01-14T09:00:00+01:00' },
    });
    add('acceptance', {
      kind: 'design-acceptance',
      iteration: 1,
      by: document.prescriber,
      at: '2031-01-15T12:00:00+01:00',
      model: sha256Hex(model(code)),
      original: `${code}-acceptance.txt`,
      enteredBy: 'P-OP',
    });
    cell.files[`site/cases/${code}.stl`] = model(code);
    cell.files[`site/cases/${code}-acceptance.txt`] = `I accept the plate for ${code} (invented)\n`;
  }
}
