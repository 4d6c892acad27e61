import type { Assessment } from '../../assessment/assessment.js';
import { powderReceiptsOfBuild } from '../../assessment/materials.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { short, signatureAnchor } from '../../report/anchors.js';
import { checkTitle, reasonWords } from '../../report/assessment-words.js';
import { exceptionsOf, nothingAgainst } from '../../report/exceptions.js';
import { contentText, independenceText, signedAtText, signerText } from '../../report/phrases/signatures.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { type RecordView, shownUnits } from '../record-view.js';
import { decisionOf, standsOver } from '../signatures.js';
import { NOT_RECORDED } from './not-recorded.js';

/** Page 1, in the order in which a reader needs it: decisions, signatures, exceptions, identity, cautions, proof. */
export function drawCover(pdf: RecordPage, view: RecordView): void {
  const { facts, enclosure } = view;
  const { cautions } = view.template;
  pdf.title(`Lot record ${facts.lot.body.lot}`, stateText(view));
  drawDecisions(pdf, view);
  drawSignatures(pdf, view);
  pdf.callout({ kind: 'exception', title: 'Exceptions', items: exceptionItems(pdf, view) });
  pdf.heading(2, 'What it is', { listed: false });
  pdf.facts(whatItIs(view));
  pdf.callout({
    kind: 'caution',
    title: 'Cautions',
    items: [
      cautions.clinical,
      cautions.powder,
      [`${cautions.undecided} `, { text: 'All cautions', to: 'section cautions' }],
    ],
  });
  pdf.heading(2, 'How to check this record', { listed: false });
  pdf.facts([
    ['Content (lot file)', [{ text: enclosure.dossierSha256, style: 'mono' }]],
    ['Enclosure', [{ text: view.enclosureSha256, style: 'mono' }]],
    ['Installation key', keyText(view)],
    ['Printed', printedText(enclosure)],
  ]);
  pdf.paragraph(
    `"npx lotwright verify FILE" computes every verdict and index again, offline, from this file alone; with the evidence folder the logs too. ${cautions.unaltered} ${sealText(view)} Record template revision ${enclosure.template.revision}.`,
    { small: true },
  );
}

function stateText({ enclosure }: RecordView): Text {
  const { record, demo, supersedes, forCase } = enclosure;
  const copy = forCase === null ? '' : ` Copy for the institution of case ${forCase}.`;
  return [
    `Record ${record.number}, revision ${record.revision}. `,
    record.draft
      ? { text: 'DRAFT: no implant is decided.', style: 'bold' as const }
      : { text: 'Final for the implants that are decided below.', style: 'bold' as const },
    supersedes ? ` It supersedes revision ${supersedes.revision}; ` : '',
    ...(supersedes ? [{ text: 'what changed', to: 'changes' }, '.'] : []),
    copy,
    demo ? ' Fictional demo data.' : '',
  ];
}

function drawDecisions(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const units = shownUnits(view);
  pdf.heading(2, 'Decision on each implant', { listed: false });
  const open = units.filter((unit) => !decisionOf(view, unit.serial));
  pdf.paragraph(
    `${verdictCounts(units.map((unit) => unit.verdict))} by the program, which proposes. ${
      open.length === 0 ? 'Every implant is decided.' : `Not decided: ${open.map(({ serial }) => serial).join(', ')}.`
    }`,
  );
  pdf.table({
    caption: 'Implants',
    columns: [
      { head: 'Serial', width: 1.9 },
      { head: 'Case, side', width: 2.4 },
      { head: 'Decision', width: 3.2 },
      { head: 'Proposed outcome', width: 2.5 },
      { head: 'Reason', width: 5.4 },
    ],
    rows: units.map((unit) => {
      const implant = facts.lot.body.implants.find((item) => item.serial === unit.serial)!;
      return {
        cells: [
          unit.serial,
          `${implant.case}, ${facts.cases.get(implant.case)?.body.side ?? 'withheld'}`,
          decisionText(view, unit.serial),
          unit.verdict,
          reasonText(view, unit),
        ],
        attention: unit.verdict !== 'conforms',
      };
    }),
  });
}

/** Briefly: a value by what it is, a check by its title. The release checks tell all of it. */
function reasonText({ assessment }: RecordView, unit: Assessment['units'][number]): Text {
  const [first, ...more] = unit.why;
  if (!first) return nothingAgainst(assessment, unit);
  const check = assessment.checks.find(({ code }) => code === first.check);
  const rest: Text = more.length > 0 ? `, and ${more.length} more: ` : ': ';
  return [
    check
      ? `${checkTitle(check.code)}: ${check.outcome}`
      : reasonWords(assessment.checks)(first).says.replace(/\.$/, ''),
    rest,
    { text: 'release checks', to: 'section release' },
  ];
}

function decisionText(view: RecordView, serial: string): Text {
  const signed = decisionOf(view, serial);
  const over = standsOver(view, serial);
  if (!signed) return ['not decided', ...over].join('; ');
  const { meaning, person } = signed.statement;
  return [
    ...(over.length > 0 ? [{ text: `${over.join('; ')}; `, style: 'bold' as const }] : []),
    { text: `${meaning} by ${person.name}`, to: signatureAnchor(signed.digest) },
  ];
}

/** Statements on the lot itself; those on documents, certificates and sheets stand on the signature page. */
function drawSignatures(pdf: RecordPage, view: RecordView): void {
  pdf.heading(2, 'Signatures', { listed: false });
  const { signatures } = view.enclosure;
  if (signatures.length === 0) {
    pdf.paragraph('Nobody has signed this lot file.');
    return;
  }
  pdf.table({
    caption: 'Signed on the lot file',
    columns: [
      { head: 'Signed by', width: 4.2 },
      { head: 'Meaning', width: 1.5 },
      { head: 'Implants', width: 2.5 },
      { head: 'Signed at', width: 3.1 },
      { head: 'Independence', width: 3 },
      { head: 'Signed content', width: 2.3 },
    ],
    rows: signatures.map(({ statement, digest }) => [
      signerText(statement),
      statement.meaning,
      statement.units.join(', ') || 'the lot',
      signedAtText(statement),
      independenceText(view, statement),
      [{ text: contentText(statement), style: 'mono' as const, to: signatureAnchor(digest) }],
    ]),
  });
}

function whatItIs({ facts }: RecordView): [string, Text][] {
  const { lot, family, specification } = facts;
  const heats = lot.body.builds
    .flatMap((build) => powderReceiptsOfBuild(facts, build.build))
    .flatMap((code) => facts.receipts.get(code)!.body.heats);
  const iterations = lot.body.implants.map((implant) => String(implant.designIteration));
  const once = (items: readonly string[]) => [...new Set(items)].sort().join(', ');
  return [
    ['Family', `${family.body.title} (${family.body.family} revision ${family.revision}), route ${family.body.route}`],
    ['Alloy', `${family.body.alloy}, heats ${once(heats)}`],
    [
      'Made by',
      `recipe ${[...facts.recipes.keys()].join('; ')}; specification ${specification.body.specification} rev ${specification.revision}; design iteration ${once(iterations)}`,
    ],
    ['Sterile state, expiry', sterileText(family.body.sterile)],
  ];
}

const mono = (text: string) => ({ text, style: 'mono' as const });

function keyText({ enclosure }: RecordView): Text {
  const [inUse, ...former] = enclosure.keys;
  if (!inUse) return 'none: this copy carries no key';
  const others = former.length === 0 ? '' : ` and ${former.length} former one(s), see enclosure.json`;
  return [mono(inUse.fingerprint), others];
}

function sealText({ enclosure }: RecordView): string {
  if (enclosure.seal === null) return 'This file carries no seal.';
  return `Its seal, of certificate ${short(enclosure.seal.certificateSha256)}, is no person's signature.`;
}

function printedText({ printedAt, printedOffset, printedBy, program, node }: RecordView['enclosure']): string {
  const offset = printedOffset === '+00:00' ? '' : ` (offset ${printedOffset})`;
  return `${timeText(printedAt)}${offset} by ${printedBy}, ${program}, Node.js ${node}`;
}

function sterileText(state: 'sterile' | 'non-sterile'): string {
  return state === 'sterile'
    ? `to be sterilised; sterile load and expiry are ${NOT_RECORDED}`
    : `non-sterile; expiry is ${NOT_RECORDED}`;
}

/** What is there with its count and page; what is not, in one line; what this version cannot know, outright. */
function exceptionItems(pdf: RecordPage, view: RecordView): Text[] {
  const counted = exceptionsOf(view);
  const found = counted.filter(({ count }) => count > 0);
  const none = counted.filter(({ count }) => count === 0).map(({ what }) => what);
  return [
    ...found.map(
      ({ what, count, anchor }): Text => [`${what}: ${count}, `, { text: `page ${pdf.pageOf(anchor)}`, to: anchor }],
    ),
    ...(none.length > 0 ? [`none: ${none.join('; ')}`] : []),
    `${NOT_RECORDED}: nonconformity reports and rework`,
  ];
}
