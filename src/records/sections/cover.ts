import { expiryOf } from '../../assessment/expiry.js';
import { gatesOpen } from '../../assessment/gates.js';
import { powderReceiptsOfBuild } from '../../assessment/materials.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { stepsReleased } from '../../dossier/unit-course.js';
import { balanceOf } from '../../dossier/unit-places.js';
import { fateOf } from '../../kinds/lot-after-build.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { PARTS_ANCHOR, sectionAnchor, short, signatureAnchor, unitAnchor } from '../../report/anchors.js';
import { type LotSummary, summaryOf } from '../../report/lot-summary.js';
import { nothingAgainst } from '../../report/nothing-against.js';
import { permitsOf } from '../../report/permits.js';
import { verdictText } from '../../report/phrases/codes.js';
import { DECISION } from '../../report/phrases/decision.js';
import { LOT_SUMMARY } from '../../report/phrases/lot-summary.js';
import { independenceText, otherPartsText } from '../../report/phrases/parts-in-lot.js';
import { balanceText } from '../../report/phrases/places.js';
import { COVER } from '../../report/phrases/record-cover.js';
import { gatesText } from '../../report/phrases/release-steps.js';
import { contentText, signedAtText, signerText } from '../../report/phrases/signatures.js';
import { routeText, sideText } from '../../report/phrases/trade-codes.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { notCheckedLines, type SummaryLine, summaryLines } from '../../report/summary-lines.js';
import { independenceOf, otherPartsOf } from '../independence.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { courseOf, decisionOf, standsOver } from '../signatures.js';
import { isOnShown } from './signature-page.js';

/** Page 1, in the order in which a reader needs it: verdicts and decisions, exceptions, signatures, identity, cautions, proof. */
export function drawCover(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment, enclosure } = view;
  const { cautions } = view.template;
  const summary = summaryOf(facts, assessment);
  pdf.title(COVER.title(facts.lot.body.lot), stateText(view));
  drawDecisions(pdf, view);
  pdf.callout({ kind: 'exception', title: COVER.exceptions, items: exceptionItems(pdf, view, summary), small: true });
  pdf.facts([...signedOnLot(view), ...whatItIs(view)], { small: true });
  pdf.callout({
    kind: 'caution',
    title: COVER.cautions.title,
    items: [`${cautions.clinical} ${cautions.powder}`, [{ text: COVER.cautions.all, to: sectionAnchor('cautions') }]],
    small: true,
  });
  pdf.facts(
    [
      [COVER.proof.content, [mono(enclosure.dossierSha256)]],
      [COVER.proof.enclosure, [mono(view.enclosureSha256)]],
      [COVER.proof.key, keyText(view)],
      [COVER.proof.printed, printedText(enclosure)],
      [COVER.proof.check, COVER.proof.how(cautions.unaltered, sealText(view), enclosure.template.revision)],
    ],
    { small: true },
  );
}

function stateText(view: RecordView): Text {
  const { enclosure } = view;
  const { record, demo, supersedes, forCase } = enclosure;
  const words = COVER.state;
  return [
    words.record(record.number, record.revision),
    { text: howFarText(view), style: 'bold' },
    supersedes ? words.supersedes(supersedes.revision) : '',
    ...(supersedes ? [{ text: words.whatChanged, to: 'changes' }, '.'] : []),
    forCase === null ? '' : words.copyFor(forCase),
    demo ? words.demo : '',
  ];
}

/** Whether it is a draft or final, and what keeps it from being final: gates that are not passed, each once. */
function howFarText(view: RecordView): string {
  const words = COVER.state;
  const { draft, final } = view.enclosure.record;
  if (draft) return words.draft;
  if (final) return words.final;
  const units = shownUnits(view).filter(({ serial }) => fateOf(view.facts.lot.body, serial) === undefined);
  const course = (serial: string) => courseOf(view, serial);
  const serials = (isMeant: (serial: string) => boolean) => units.map(({ serial }) => serial).filter(isMeant);
  const isOut = (serial: string) => stepsReleased(course(serial)).includes('distribution');
  const open = serials((serial) => course(serial).decision === 'open');
  const shaken = serials((serial) => standsOver(view, serial).length > 0);
  const waiting = serials((serial) => course(serial).decision === 'released' && !isOut(serial));
  const gates = units
    .filter(({ serial }) => course(serial).decision !== 'rejected')
    .flatMap((unit) => gatesOpen(unit.gates).map((gate) => gatesText([gate])));
  return words.notFinal([
    ...(open.length > 0 ? [words.notDecided(open)] : []),
    ...(shaken.length > 0 ? [words.liesOver(shaken)] : []),
    ...(waiting.length > 0 ? [words.notForDistribution(waiting)] : []),
    ...(gates.length > 0 ? [words.gates([...new Set(gates)].join('; '))] : []),
  ]);
}

function drawDecisions(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment } = view;
  const units = shownUnits(view);
  const words = COVER.decisions;
  const isMoved = (serial: string) => fateOf(facts.lot.body, serial)?.as === 'moved';
  const open = units.filter(({ serial }) => !decisionOf(view, serial) && !isMoved(serial));
  pdf.paragraph(
    words.lead(
      verdictCounts(units.map((unit) => unit.verdict)),
      open.map(({ serial }) => serial),
    ),
  );
  pdf.table({
    caption: words.caption,
    columns: [
      { head: words.heads.serial, width: 2 },
      { head: words.heads.caseAndSide, width: 2.6 },
      { head: words.heads.proposed, width: 2.4 },
      { head: words.heads.decision, width: 4 },
      { head: words.heads.permits, width: 3.6 },
      { head: words.heads.page, width: 1 },
    ],
    rows: units.map((unit) => {
      const implant = facts.lot.body.implants.find((item) => item.serial === unit.serial)!;
      const released = stepsReleased(courseOf(view, unit.serial));
      return {
        cells: [
          unit.serial,
          `${implant.case}, ${sideOf(facts, implant.case)}`,
          verdictText(unit.verdict),
          decisionText(view, unit.serial),
          words.permits[permitsOf(released, standsOver(view, unit.serial))],
          [{ text: pdf.pageOf(unitAnchor(unit.serial)), to: unitAnchor(unit.serial) }],
        ],
        attention: unit.verdict !== 'conforms',
      };
    }),
  });
  const clean = units.filter((unit) => unit.why.length === 0 && unit.verdict === 'conforms');
  const says = new Set(clean.map((unit) => nothingAgainst(assessment, unit)));
  if (says.size > 0 && clean.length === units.length) pdf.paragraph([...says].join(' '), { small: true });
}

function sideOf({ cases }: Facts, code: string): string {
  const found = cases.get(code);
  return found ? sideText(found.body.side) : COVER.decisions.withheld;
}

/** What people decided on an implant last, and what lies over it. */
export function decisionText(view: RecordView, serial: string): Text {
  const signed = decisionOf(view, serial);
  const over = standsOver(view, serial).map((code) => DECISION[code]);
  const gone = fateOf(view.facts.lot.body, serial);
  if (gone?.as === 'moved') return DECISION.moved(gone.lot);
  if (!signed) return [DECISION.open, ...over].join('; ');
  return [
    ...(over.length > 0 ? [{ text: `${over.join('; ')}; `, style: 'bold' as const }] : []),
    { text: DECISION.by(signed.statement), to: signatureAnchor(signed.digest) },
  ];
}

/** Every exception with its page, and then what this version cannot know. The box is never without a line. */
function exceptionItems(pdf: RecordPage, view: RecordView, summary: LotSummary): Text[] {
  const lines = [...summaryLines(summary, view.facts, tellsOf(view)), ...linesOfStates(view)];
  const unknown = notCheckedLines(summary);
  return [
    ...(lines.length === 0 ? [LOT_SUMMARY.empty] : lines.map((line) => withPage(pdf, line))),
    [
      LOT_SUMMARY.notCheckedLead(unknown.length),
      ...unknown.flatMap((line, index) => [index === 0 ? '' : '; ', ...withPage(pdf, line)]),
    ],
  ];
}

/** What lies outside the lot file and is told on page 1 all the same. */
function linesOfStates({ enclosure: { states } }: RecordView): SummaryLine[] {
  const refused = states.filter(({ what }) => what === 'act-refused').length;
  const warned = [...new Set(states.flatMap(({ warns }) => warns ?? []))];
  const anchors = [sectionAnchor('release')];
  return [
    ...warned.map((says) => ({ says: COVER.warned(says), anchors })),
    ...(refused === 0 ? [] : [{ says: COVER.refused(refused), anchors }]),
  ];
}

function withPage(pdf: RecordPage, { says, anchors }: SummaryLine): Exclude<Text, string>[number][] {
  const [first, last] = anchors.map((anchor) => pdf.pageOf(anchor));
  return [`${says}, `, { text: LOT_SUMMARY.page(first!, last), to: anchors[0]! }];
}

/** Statements on the lot itself; those on documents, certificates and sheets stand on the signature page. */
function signedOnLot(view: RecordView): [string, Text][] {
  const words = COVER.signatures;
  const { signatures } = view.enclosure;
  if (signatures.length === 0) return [[words.heading, words.none]];
  return signatures.map(({ statement, digest }): [string, Text] => [
    words.signed(statement),
    [
      { text: `${signerText(statement)}, ${signedAtText(statement)}`, to: signatureAnchor(digest) },
      `${words.signedHow(independenceText(independenceOf(view, statement)), statement.reason)}; `,
      isOnShown(view, statement) ? '' : `${words.earlierState(contentText(statement))}; `,
      { text: otherPartsText(otherPartsOf(view, statement)), to: PARTS_ANCHOR },
    ],
  ]);
}

function expiryText(view: RecordView): string {
  const { implants } = view.facts.lot.body;
  const days = implants
    .filter(({ serial }) => tellsOf(view)(serial))
    .flatMap((implant) => expiryOf(view.facts, implant)?.day ?? []);
  return days.length === 0 ? COVER.identity.noExpiry : COVER.identity.expires([...new Set(days)].sort());
}

function whatItIs(view: RecordView): [string, Text][] {
  const { facts } = view;
  const { lot, family, specification } = facts;
  const heats = lot.body.builds
    .flatMap((build) => powderReceiptsOfBuild(facts, build.build))
    .flatMap((code) => facts.receipts.get(code)!.body.heats);
  const iterations = lot.body.implants.map((implant) => String(implant.designIteration));
  const once = (items: readonly string[]) => [...new Set(items)].sort().join(', ');
  const words = COVER.identity;
  const { specification: code } = specification.body;
  const { manufacturer } = family.body;
  return [
    [
      words.family,
      words.familyOf(family.body.title, family.body.family, family.revision, routeText(family.body.route)),
    ],
    [words.maker, manufacturer ? words.makerOf(manufacturer.name, manufacturer.address) : words.noMaker],
    [
      words.madeBy,
      words.madeByOf({
        alloy: family.body.alloy,
        heats: once(heats),
        recipes: [...facts.recipes.keys()].join('; '),
        specification: code,
        revision: specification.revision,
        iterations: once(iterations),
      }),
    ],
    [words.sterile, words.sterileOf[family.body.sterile](expiryText(view))],
    ...placesFact(view),
  ];
}

/** Where the implants were when the record was issued, as a count that has to come out even. */
function placesFact({ enclosure }: RecordView): [string, Text][] {
  const implants = (enclosure.places ?? []).filter(({ kind }) => kind === 'implant');
  if (implants.length === 0) return [];
  const balance = balanceOf(implants);
  const text = balanceText(balance);
  const to = sectionAnchor('distribution');
  return [[COVER.identity.places, [balance.unaccounted.length > 0 ? { text, to, style: 'bold' } : { text, to }]]];
}

const mono = (text: string) => ({ text, style: 'mono' as const });

function keyText({ enclosure }: RecordView): Text {
  const [inUse, ...former] = enclosure.keys;
  return inUse ? [mono(inUse.fingerprint), COVER.proof.formerKeys(former.length)] : COVER.proof.noKey;
}

function sealText({ enclosure }: RecordView): string {
  if (enclosure.seal === null) return COVER.proof.noSeal;
  return COVER.proof.sealed(short(enclosure.seal.certificateSha256));
}

const printedText = ({ printedAt, printedOffset, printedBy, program, node }: RecordView['enclosure']): string =>
  COVER.proof.printedAt(timeText(printedAt), printedOffset, printedBy, program, node);
