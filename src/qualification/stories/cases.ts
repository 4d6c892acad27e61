import { sha256Hex } from '../../dossier/canonical.js';
import type { LotFiles } from '../lots.js';
import { type Document, FICTION, PEOPLE } from '../names.js';
import { COATED_ENVELOPE, COATED_FAMILY, COATED_RECIPE, DESIGN_PROGRAM } from './names.js';

const SIDES = ['left', 'right'] as const;
const SITES = ['zygomatic arch', 'mandible, angle', 'orbital rim'] as const;

/** One patient of a story, under a code. */
export interface CaseStory {
  readonly run: number;
  readonly n: number;
  readonly law: 'EU' | 'US';
  /** When it was prescribed, when its images were taken, and when the operation is planned. */
  readonly prescribedOn: string;
  readonly imagesOn: string;
  readonly surgeryOn: string;
}

/** As the case stands at some time of the story. */
export interface CaseState {
  readonly iteration: number;
  readonly cancelledAt?: string;
  /** Day of the operation, where it is another than was planned at first. */
  readonly surgeryOn?: string;
  /** Why it stands otherwise than before. */
  readonly reason?: string;
}

export const caseOf = ({ run, n }: Pick<CaseStory, 'run' | 'n'>): string => `K-${run}-${n}`;
const sideOf = ({ n }: CaseStory): string => SIDES[n % 2]!;
const siteOf = ({ run, n }: CaseStory): string => SITES[(run + n) % SITES.length]!;
const imagesOf = (story: CaseStory): string => `IM-${story.run}-${story.n}`;

const prescriber = (story: CaseStory) =>
  story.law === 'US'
    ? { name: 'Dr P. Ashdown (fictional)', institution: 'Harbor Street Hospital (fictional)' }
    : { name: 'Dr R. Halvorsen (fictional)', institution: 'Fjordside Clinic (fictional)' };

/** Length and width of a plate, mm: the second iteration is longer. */
const sizeOf = ({ n }: CaseStory, iteration: number) => ({ length: 28 + 2 * n + 4 * (iteration - 1), width: 6 });

/** The model of an iteration: the box around the plate, as ASCII STL in mm. */
function modelOf(story: CaseStory, iteration: number): string {
  const { length: x, width: y } = sizeOf(story, iteration);
  const corner = (bits: number) => `${bits & 1 ? x : 0} ${bits & 2 ? y : 0} ${bits & 4 ? 1.5 : 0}`;
  const faces = [
    ['0 0 -1', 0, 2, 3, 1],
    ['0 0 1', 4, 5, 7, 6],
    ['0 -1 0', 0, 1, 5, 4],
    ['0 1 0', 2, 6, 7, 3],
    ['-1 0 0', 0, 4, 6, 2],
    ['1 0 0', 1, 3, 7, 5],
  ] as const;
  const triangle = (normal: string, corners: readonly number[]) =>
    [
      `facet normal ${normal}`,
      'outer loop',
      ...corners.map((bits) => `vertex ${corner(bits)}`),
      'endloop',
      'endfacet',
    ].join('\n');
  const all = faces.flatMap(([normal, a, b, c, d]) => [triangle(normal, [a, b, c]), triangle(normal, [a, c, d])]);
  const name = `${caseOf(story)} iteration ${iteration}`;
  return `solid ${name}\n${all.join('\n')}\nendsolid ${name}\n`;
}

/** Case, images and every iteration of the design so far, with the models. */
export function caseFiles(
  story: CaseStory,
  { iteration, cancelledAt, surgeryOn = story.surgeryOn, reason }: CaseState,
): LotFiles {
  const code = caseOf(story);
  const iterations = Array.from({ length: iteration }, (_, index) => index + 1);
  return {
    documents: {
      [`cases/${code}.yaml`]: {
        kind: 'case',
        format: 1,
        case: code,
        family: COATED_FAMILY,
        neededBy: surgeryOn,
        designIteration: iteration,
        anatomicalSite: siteOf(story),
        side: sideOf(story),
        prescriber: prescriber(story),
        prescription: { reference: `RX-${story.run}-${story.n}`, at: `${story.prescribedOn}T09:00:00Z` },
        prescribedCharacteristics: 'length, width and site as designed; coated (fictional)',
        otherMetals: 'none',
        imagingDate: story.imagesOn,
        surgeryOn,
        usedUnder: story.law,
        ...(cancelledAt === undefined ? {} : { status: { is: 'cancelled', by: PEOPLE.process, at: cancelledAt } }),
        ...(reason === undefined ? {} : { reason }),
      },
      [`cases/${code}-images.yaml`]: {
        kind: 'imaging-set',
        format: 1,
        imagingSet: imagesOf(story),
        case: code,
        takenOn: story.imagesOn,
        modality: 'CT',
        sliceMm: '0.6',
        // They stay with the institution.
        sha256: sha256Hex(`invented images of ${code}`),
        received: { by: PEOPLE.process, at: `${story.prescribedOn}T11:00:00Z` },
      },
      ...Object.fromEntries(iterations.map((n) => [`cases/${code}-design-${n}.yaml`, designOf(story, n)])),
    },
    texts: Object.fromEntries(iterations.map((n) => [`cases/models/${code}-${n}.stl`, modelOf(story, n)])),
  };
}

function designOf(story: CaseStory, iteration: number): Document {
  const code = caseOf(story);
  const { length, width } = sizeOf(story, iteration);
  return {
    kind: 'case-design',
    format: 1,
    case: code,
    revision: iteration,
    title: `Plate for ${code}, ${FICTION}`,
    envelope: COATED_ENVELOPE,
    parameters: [
      { parameter: 'length', value: String(length), ucum: 'mm' },
      { parameter: 'width', value: String(width), ucum: 'mm' },
    ],
    anatomicalSite: siteOf(story),
    side: sideOf(story),
    marking: `${code} ${sideOf(story) === 'left' ? 'L' : 'R'}`,
    model: { file: `models/${code}-${iteration}.stl`, ucum: 'mm' },
    zones: [
      {
        zone: 'span',
        box: { from: { x: '0', y: '0', z: '0' }, to: { x: String(length), y: String(width), z: '1.5' } },
      },
    ],
    recipe: COATED_RECIPE,
    software: [DESIGN_PROGRAM],
    imagingSets: [imagesOf(story)],
    designer: PEOPLE.process,
  };
}

/** The prescriber accepted the model of an iteration; the message is personal data. */
export function acceptanceFiles(story: CaseStory, iteration: number, at: string): LotFiles {
  const code = caseOf(story);
  const original = `acceptances/${code}-${iteration}.txt`;
  return {
    documents: {
      [`cases/${code}-accepted-${iteration}.yaml`]: {
        kind: 'design-acceptance',
        format: 1,
        case: code,
        iteration,
        by: prescriber(story),
        at,
        model: sha256Hex(modelOf(story, iteration)),
        original,
        enteredBy: PEOPLE.process,
      },
    },
    texts: { [`cases/${original}`]: `Invented message: iteration ${iteration} of ${code} is accepted.\n` },
  };
}
