import type { Statement } from '../../dossier/statement.js';
import type { Permits } from '../permits.js';
import { ABSENT } from './absent.js';
import { capital } from './capital.js';
import { HEADS } from './heads.js';
import { signedAsText } from './release-steps.js';

/** Every word of page 1 of the lot record but the cautions, which stand in templates/records. */
export const COVER = {
  title: (lot: string) => `Lot record ${lot}`,
  contents: 'Contents',

  state: {
    record: (number: string, revision: number) => `Record ${number}, revision ${revision}. `,
    draft: 'DRAFT: no implant is decided.',
    final: 'FINAL: every implant is rejected, gone, or released for distribution.',
    /** @param why what keeps it from being final, each once. */
    notFinal: (why: readonly string[]) => `NOT FINAL. ${why.join('. ')}.`,
    notDecided: (serials: readonly string[]) => `Not decided: ${serials.join(', ')}`,
    liesOver: (serials: readonly string[]) =>
      `A hold, a revocation or a changed verdict lies over the decision on ${serials.join(', ')}`,
    gates: (says: string) => `Gates before distribution: ${says}`,
    notForDistribution: (serials: readonly string[]) =>
      `Released for sterilisation, not for distribution: ${serials.join(', ')}`,
    supersedes: (revision: number) => ` It supersedes revision ${revision}; `,
    whatChanged: 'what changed',
    copyFor: (forCase: string) => ` Copy for the institution of case ${forCase}.`,
    demo: ' Fictional demo data.',
  },

  decisions: {
    /** @param verdicts counted, `3 implants: 3 conform`. @param open serials that nobody decided on. */
    lead: (verdicts: string, open: readonly string[]) =>
      `${verdicts} by the program, which proposes. ${
        open.length === 0 ? 'Every implant is decided.' : `Not decided: ${open.join(', ')}.`
      }`,
    caption: HEADS.decisions,
    heads: {
      serial: 'Serial',
      caseAndSide: 'Case, side',
      decision: 'Decision',
      proposed: HEADS.proposedOutcome,
      permits: 'What it permits',
      page: 'Page',
    },
    permits: {
      nothing: 'nothing: no release stands',
      sterilisation: 'to be sterilised; it may not be distributed',
      distribution: 'to be distributed',
    } satisfies Record<Permits, string>,
    withheld: ABSENT.withheld,
    onTheirPages: 'on the page of each',
  },

  signatures: {
    heading: 'Signatures',
    none: 'Nobody has signed this lot file.',
    signedHow: (independence: string, reason: string | null) =>
      `: ${independence}${reason === null ? '' : `; reason: ${reason}`}`,
    earlierState: (digest: string) =>
      `on an earlier state of the lot file, ${digest}, with other facts than this record shows`,
    before: 'Signed besides',
    /** @param counts by what was said. */
    others: (counts: ReadonlyMap<string, number>) =>
      `${[...counts].map(([says, count]) => (count === 1 ? says : `${says} (${count})`)).join(', ')}: earlier, or on earlier states of the lot file; by whom and how independent stands on the signature page`,
    signed: (statement: Pick<Statement, 'meaning' | 'step'>) => `${capital(signedAsText(statement))} by`,
  },

  exceptions: 'Exceptions',
  allExceptions: 'Every exception',
  moreExceptions: (more: number) => `${more} more`,
  warned: (conditions: string) => `A release near its limit: ${conditions}`,
  refused: (acts: number) => (acts === 1 ? '1 act was refused' : `${acts} acts were refused`),

  identity: {
    family: 'Family',
    familyOf: (title: string, family: string, revision: number, route: string) =>
      `${title} (${family} revision ${revision}), route ${route}`,
    maker: 'Maker',
    makerOf: (name: string, address: string) => `${name}, ${address}`,
    noMaker: 'the family names none',
    madeBy: 'Made of and by',
    madeByOf: (of: {
      readonly alloy: string;
      readonly heats: string;
      readonly recipes: string;
      readonly specification: string;
      readonly revision: number;
      readonly iterations: string;
    }) =>
      `${of.alloy}, heats ${of.heats}; recipe ${of.recipes}; specification ${of.specification} rev ${of.revision}; design iteration ${of.iterations}`,
    places: 'Where they are',
    sterile: 'Sterile state',
    sterileOf: {
      sterile: (expiry: string) => `delivered sterile; ${expiry}`,
      'non-sterile': (expiry: string) => `non-sterile; ${expiry}`,
    },
    expires: (days: readonly string[]) => `expires ${days.join(', ')}`,
    noExpiry: 'no expiry: not packed yet, or nothing bounds it',
  },

  cautions: { title: 'Cautions', all: 'All cautions' },

  proof: {
    check: 'How to check it',
    content: 'Content (lot file)',
    enclosure: 'Enclosure',
    key: 'Installation key',
    noKey: 'none: this copy carries no key',
    formerKeys: (former: number) => (former === 0 ? '' : ` and ${former} former one(s), see enclosure.json`),
    printed: 'Printed',
    /** @param offset of the printer from UTC, `+02:00`. */
    printedAt: (at: string, offset: string, by: string, program: string, node: string) =>
      `${at}${offset === '+00:00' ? '' : ` (offset ${offset})`} by ${by}, ${program}, Node.js ${node}`,
    how: (unaltered: string, seal: string, templateRevision: number) =>
      `"npx lotwright verify FILE" computes every verdict and index again, offline, from this file alone; with the evidence folder the logs too. ${unaltered} ${seal} Record template revision ${templateRevision}.`,
    noSeal: 'This file carries no seal.',
    sealed: (certificate: string) => `Its seal, of certificate ${certificate}, is no person's signature.`,
  },
};
