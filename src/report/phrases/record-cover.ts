import { ABSENT } from './absent.js';
import { HEADS } from './heads.js';
import { NOT_RECORDED } from './not-recorded.js';

/** Every word of page 1 of the lot record but the cautions, which stand in templates/records. */
export const COVER = {
  title: (lot: string) => `Lot record ${lot}`,
  contents: 'Contents',

  state: {
    record: (number: string, revision: number) => `Record ${number}, revision ${revision}. `,
    draft: 'DRAFT: no implant is decided.',
    final: 'Final for the implants that are decided below.',
    supersedes: (revision: number) => ` It supersedes revision ${revision}; `,
    whatChanged: 'what changed',
    copyFor: (forCase: string) => ` Copy for the institution of case ${forCase}.`,
    demo: ' Fictional demo data.',
  },

  decisions: {
    heading: HEADS.decisions,
    /** @param verdicts counted, `3 implants: 3 conform`. @param open serials that nobody decided on. */
    lead: (verdicts: string, open: readonly string[]) =>
      `${verdicts} by the program, which proposes. ${
        open.length === 0 ? 'Every implant is decided.' : `Not decided: ${open.join(', ')}.`
      }`,
    caption: 'Implants',
    heads: {
      serial: 'Serial',
      caseAndSide: 'Case, side',
      decision: 'Decision',
      proposed: HEADS.proposedOutcome,
      reason: 'Reason',
    },
    withheld: ABSENT.withheld,
    more: (reasons: number) => (reasons === 0 ? ': ' : `, and ${reasons} more: `),
    toChecks: 'release checks',
  },

  signatures: {
    heading: 'Signatures',
    none: 'Nobody has signed this lot file.',
    caption: 'Signed on the lot file',
    heads: {
      by: HEADS.signedBy,
      meaning: 'Meaning',
      implants: 'Implants',
      at: HEADS.signedAt,
      independence: 'Independence',
      content: HEADS.signedContent,
    },
    wholeLot: 'the lot',
  },

  exceptions: {
    title: 'Exceptions',
    counted: (what: string, count: number) => `${what}: ${count}, `,
    page: (page: string) => `page ${page}`,
    none: (what: readonly string[]) => `none: ${what.join('; ')}`,
    notKnown: `${NOT_RECORDED}: nonconformity reports and rework`,
  },

  identity: {
    heading: HEADS.whatItIs,
    family: 'Family',
    familyOf: (title: string, family: string, revision: number, route: string) =>
      `${title} (${family} revision ${revision}), route ${route}`,
    alloy: 'Alloy',
    alloyOf: (alloy: string, heats: string) => `${alloy}, heats ${heats}`,
    madeBy: 'Made by',
    madeByOf: (recipes: string, specification: string, revision: number, iterations: string) =>
      `recipe ${recipes}; specification ${specification} rev ${revision}; design iteration ${iterations}`,
    sterile: 'Sterile state, expiry',
    sterileOf: {
      sterile: `to be sterilised; sterile load and expiry are ${NOT_RECORDED}`,
      'non-sterile': `non-sterile; expiry is ${NOT_RECORDED}`,
    },
  },

  cautions: { title: 'Cautions', all: 'All cautions' },

  proof: {
    heading: 'How to check this record',
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
