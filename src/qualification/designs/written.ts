import type { LotFiles } from '../lots.js';
import type { Document } from '../names.js';

/** A document of a design history under its code, which names its file, with the report that lies beside it. */
export type Written = readonly [code: string, document: Document, report?: string];

interface Ref {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

/** Another revision than the first where it says so. */
type More = Document & { readonly revision?: number };

/** How it was tested, and what came out. */
interface StudyFacts extends More {
  readonly purpose: string;
  readonly criterion: Document;
  readonly n: number;
  readonly rationale: string;
  /** First and last day of testing. */
  readonly days: readonly [from: string, to: string];
  /** Day on which the protocol was approved. */
  readonly protocolOn: string;
  /** Day of the report; none while the study runs. */
  readonly reportOn?: string;
  /** What the report says, where it was done elsewhere and its report is all that shows it. */
  readonly reportSays?: string;
}

const pinned = (of: string, codes: readonly string[]): Document[] => codes.map((code) => ({ [of]: code, revision: 1 }));
const some = (name: string, items: readonly unknown[]): Document => (items.length === 0 ? {} : { [name]: items });

export const ref = (kind: string, key: string, revision = 1): Ref => ({ kind, key, revision });

/** First revisions of what was written, of some kinds. */
export const refsOf = (written: readonly Written[], kinds: readonly string[]): Ref[] =>
  written.filter(([, { kind }]) => kinds.includes(kind as string)).map(([code, { kind }]) => ref(kind as string, code));

/** Where the report of a study lies beside it. */
const reportFile = (code: string): string => `reports/${code}.txt`;

/** Writes the documents of the design of one family. */
export function designOf(family: string) {
  const written = (kind: string, is: string, code: string, title: string, more: More): Written => [
    code,
    { kind, format: 1, [is]: code, revision: 1, title, family, ...more },
  ];
  return {
    plan: (code: string, title: string, text: string, stages: readonly (readonly [stage: string, due: string])[]) =>
      written('design-plan', 'plan', code, title, { text, stages: stages.map(([stage, due]) => ({ stage, due })) }),
    need: (code: string, title: string, text: string, source: string) =>
      written('user-need', 'need', code, title, { text, source }),
    input: (
      code: string,
      title: string,
      text: string,
      { source, needs, seenBy = [] }: { source: string; needs: readonly string[]; seenBy?: readonly string[] },
    ) =>
      written('design-input', 'input', code, title, {
        ...{ text, source, meets: pinned('need', needs) },
        ...some('characteristics', seenBy),
      }),
    output: (code: string, title: string, what: Ref, inputs: readonly string[], criterion: string, more: More = {}) =>
      written('design-output', 'output', code, title, {
        ...{ what, meets: pinned('input', inputs), essential: 'yes', criterion },
        ...more,
      }),
    study: (
      code: string,
      title: string,
      { days: [from, to], protocolOn, reportOn, reportSays, ...facts }: StudyFacts,
    ): Written => {
      const file = reportSays === undefined ? {} : { file: reportFile(code) };
      const [, document] = written('design-study', 'designStudy', code, title, {
        protocol: { number: `${code}-P`, revision: 1, approvedAt: `${protocolOn}T09:00:00Z` },
        ...{ from, to, deviations: 'none' },
        ...facts,
        ...(reportOn === undefined
          ? { result: 'open' }
          : { result: 'met', report: { number: `${code}-R`, at: reportOn, ...file } }),
      });
      return reportSays === undefined ? [code, document] : [code, document, reportSays];
    },
    hazard: (code: string, title: string, more: Document) => written('hazard', 'hazard', code, title, more),
    control: (
      code: string,
      title: string,
      { hazards, shownBy, ...more }: More & { hazards: readonly string[]; shownBy: readonly string[] },
    ) =>
      written('risk-control', 'control', code, title, {
        controls: pinned('hazard', hazards),
        verifiedBy: pinned('designStudy', shownBy),
        ...more,
      }),
    review: (code: string, title: string, more: Document) => written('design-review', 'review', code, title, more),
    transfer: (code: string, title: string, more: Document) =>
      written('design-transfer', 'transfer', code, title, more),
    labelling: (code: string, title: string, more: Document) =>
      written('labelling-decision', 'labelling', code, title, more),
    change: (code: string, title: string, more: More) => written('design-change', 'change', code, title, more),
  };
}

/** Studies that verify inputs or outputs, and validate needs, each in its first revision. */
export const shows = ({
  inputs = [],
  outputs = [],
  needs = [],
}: {
  inputs?: readonly string[];
  outputs?: readonly string[];
  needs?: readonly string[];
}): Document => ({
  ...some('verifies', [...pinned('input', inputs), ...pinned('output', outputs)]),
  ...some('validates', pinned('need', needs)),
});

/** With 95 % confidence of 95 % of all units, or of another share. */
export const ofShare = (reliability = '0.95'): Document => ({ confidence: '0.95', reliability });

const nameOf = (code: string, { revision }: Document): string => (revision === 1 ? code : `${code}-r${revision}`);

/** Documents of a design as files of one folder, with the reports of what was done elsewhere. */
export const filed = (folder: string, written: readonly Written[]): LotFiles => ({
  documents: Object.fromEntries(
    written.map(([code, document]) => [`${folder}/${nameOf(code, document)}.yaml`, document]),
  ),
  texts: Object.fromEntries(
    written.flatMap(([code, , report]) =>
      report === undefined ? [] : [[`${folder}/${reportFile(code)}`, `${report}\n`]],
    ),
  ),
});

/** The next revision of a document that was written before. */
export const revised = ([code, document]: Written, revision: number, more: Document): Written => [
  code,
  { ...document, revision, ...more },
];

export const together = (...all: readonly LotFiles[]): LotFiles => ({
  documents: Object.assign({}, ...all.map(({ documents }) => documents)),
  texts: Object.assign({}, ...all.map(({ texts }) => texts)),
});
