import type { UnitResult } from '../../assessment/assessment.js';
import { expiryOf } from '../../assessment/expiry.js';
import { gatesOpen } from '../../assessment/gates.js';
import { powderReceiptsOfBuild } from '../../assessment/materials.js';
import type { Facts } from '../../dossier/facts.js';
import { namesText, type SignedStatement } from '../../dossier/statement.js';
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
import { independenceText, otherPartsText } from '../../report/phrases/parts-in-lot.js';
import { balanceText } from '../../report/phrases/places.js';
import { COVER } from '../../report/phrases/record-cover.js';
import { gatesText, signedAsText } from '../../report/phrases/release-steps.js';
import { contentText, signedAtText, signerText } from '../../report/phrases/signatures.js';
import { routeText, sideText } from '../../report/phrases/trade-codes.js';
import { verdictCounts } from '../../report/phrases/verdicts.js';
import { independenceOf, otherPartsOf } from '../independence.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { courseOf, decisionOf, standsOver } from '../signatures.js';
import { asLongAsFits, BREVITIES, type Brevity } from './cover-brevity.js';
import { drawAllExceptions, exceptionItems, leftOff } from './cover-exceptions.js';
import { isOnShown } from './signature-page.js';

/**
 * Page 1, in the order in which a reader needs it: verdicts and decisions, exceptions, signatures, identity, cautions, proof.
 * It is one page for any lot, and says where the rest stands.
 */
export function drawCover(pdf: RecordPage, view: RecordView): void {
  const summary = summaryOf(view.facts, view.assessment);
  const brevity =
    BREVITIES.find((one) => pdf.fitsOnPage((page) => drawFirstPage(page, view, summary, one))) ?? BREVITIES.at(-1)!;
  drawFirstPage(pdf, view, summary, brevity);
  pdf.pageBreak();
  if (leftOff(view, summary, brevity) > 0) drawAllExceptions(pdf, view, summary);
}

export function drawFirstPage(pdf: RecordPage, view: RecordView, summary: LotSummary, brevity: Brevity): void {
  const { facts, enclosure } = view;
  const { cautions } = view.template;
  pdf.title(COVER.title(facts.lot.body.lot), stateText(view, brevity));
  drawDecisions(pdf, view, brevity);
  const items = exceptionItems(pdf, view, summary, brevity);
  pdf.callout({ kind: 'exception', title: COVER.exceptions, items, small: true });
  pdf.facts([...signedOnLot(view, brevity), ...whatItIs(view, brevity)], { small: true });
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

function stateText(view: RecordView, brevity: Brevity): Text {
  const { enclosure } = view;
  const { record, demo, supersedes, forCase } = enclosure;
  const words = COVER.state;
  return [
    words.record(record.number, record.revision),
    { text: howFarText(view, brevity), style: 'bold' },
    supersedes ? words.supersedes(supersedes.revision) : '',
    ...(supersedes ? [{ text: words.whatChanged, to: 'changes' }, '.'] : []),
    forCase === null ? '' : words.copyFor(forCase),
    demo ? words.demo : '',
  ];
}

/** Whether it is a draft or final, and what keeps it from being final: gates that are not passed, each once. */
function howFarText(view: RecordView, { isBrief }: Brevity): string {
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
    ...(open.length > 0 ? [words.notDecided(named(open, isBrief))] : []),
    ...(shaken.length > 0 ? [words.liesOver(named(shaken, isBrief))] : []),
    ...(waiting.length > 0 ? [words.notForDistribution(named(waiting, isBrief))] : []),
    ...(gates.length > 0 ? [words.gates([...new Set(gates)].join('; '))] : []),
  ]);
}

/** The first of many, and how many more. */
const named = (serials: readonly string[], isBrief: boolean): readonly string[] =>
  isBrief && serials.length > 0 ? [namesText(serials)] : serials;

function drawDecisions(pdf: RecordPage, view: RecordView, { isBrief }: Brevity): void {
  const { facts, assessment } = view;
  const units = shownUnits(view);
  const words = COVER.decisions;
  const isMoved = (serial: string) => fateOf(facts.lot.body, serial)?.as === 'moved';
  const open = units.filter(({ serial }) => !decisionOf(view, serial) && !isMoved(serial));
  pdf.paragraph(
    words.lead(
      verdictCounts(units.map((unit) => unit.verdict)),
      named(
        open.map(({ serial }) => serial),
        isBrief,
      ),
    ),
  );
  pdf.table({
    caption: words.caption,
    columns: [
      { head: words.heads.serial, width: 2 },
      { head: words.heads.caseAndSide, width: 2.6 },
      { head: words.heads.proposed, width: 2.4 },
      { head: words.heads.decision, width: 4.6 },
      { head: words.heads.permits, width: 3 },
      { head: words.heads.page, width: 1 },
    ],
    rows: (isBrief ? standingAlike(view, units) : units.map((unit) => [unit])).map((alike) => {
      const [unit] = alike as [UnitResult];
      const places = alike.map(({ serial }) => {
        const implant = facts.lot.body.implants.find((item) => item.serial === serial)!;
        return `${implant.case}, ${sideOf(facts, implant.case)}`;
      });
      const released = stepsReleased(courseOf(view, unit.serial));
      const serials = alike.map(({ serial }) => serial);
      return {
        cells: [
          namesText(serials),
          alike.length === 1 ? places[0]! : words.onTheirPages,
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

/** Implants of one verdict, decided alike by one person, with the same lying over it. */
function standingAlike(view: RecordView, units: readonly UnitResult[]): UnitResult[][] {
  const groups = new Map<string, UnitResult[]>();
  for (const unit of units) {
    const { serial, verdict } = unit;
    const gone = fateOf(view.facts.lot.body, serial);
    const decided = decisionOf(view, serial)?.statement;
    const by = [decided?.meaning, decided?.step, decided?.person.code];
    const key = JSON.stringify([verdict, by, standsOver(view, serial), gone?.as]);
    groups.set(key, [...(groups.get(key) ?? []), unit]);
  }
  return [...groups.values()];
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

/** Statements on the lot itself; those on documents, certificates and sheets stand on the signature page. */
function signedOnLot(view: RecordView, brevity: Brevity): [string, Text][] {
  const words = COVER.signatures;
  const { tellsEarlierStates, isBrief } = brevity;
  const { signatures } = view.enclosure;
  if (signatures.length === 0) return [[words.heading, words.none]];
  const isLast = ({ statement: { meaning, step } }: SignedStatement, index: number) =>
    !signatures.slice(index + 1).some(({ statement: later }) => later.meaning === meaning && later.step === step);
  const isTold = (signed: SignedStatement, index: number) =>
    (tellsEarlierStates || isOnShown(view, signed.statement)) && (!isBrief || isLast(signed, index));
  const others = signatures.filter((signed, index) => !isTold(signed, index));
  return [
    ...signatures
      .filter(isTold)
      .map(({ statement, digest }): [string, Text] => [
        words.signed(statement),
        [
          { text: `${signerText(statement)}, ${signedAtText(statement)}`, to: signatureAnchor(digest) },
          asLongAsFits(
            `${words.signedHow(independenceText(independenceOf(view, statement)), statement.reason)}; `,
            brevity,
          ),
          isOnShown(view, statement) ? '' : `${words.earlierState(contentText(statement))}; `,
          { text: otherPartsText(otherPartsOf(view, statement)), to: PARTS_ANCHOR },
        ],
      ]),
    ...(others.length === 0 ? [] : [[words.before, [othersText(others)]] as [string, Text]]),
  ];
}

/** `reviewed (2), rejected: with how independent they were on the signature page`. */
function othersText(others: readonly SignedStatement[]) {
  const counts = new Map<string, number>();
  for (const { statement } of others) {
    const says = signedAsText(statement);
    counts.set(says, (counts.get(says) ?? 0) + 1);
  }
  return { text: COVER.signatures.others(counts), to: sectionAnchor('signature-page') };
}

function expiryText(view: RecordView): string {
  const { implants } = view.facts.lot.body;
  const days = implants
    .filter(({ serial }) => tellsOf(view)(serial))
    .flatMap((implant) => expiryOf(view.facts, implant)?.day ?? []);
  return days.length === 0 ? COVER.identity.noExpiry : COVER.identity.expires([...new Set(days)].sort());
}

function whatItIs(view: RecordView, brevity: Brevity): [string, Text][] {
  const brief = (text: string) => asLongAsFits(text, brevity);
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
      words.familyOf(brief(family.body.title), family.body.family, family.revision, routeText(family.body.route)),
    ],
    [words.maker, manufacturer ? brief(words.makerOf(manufacturer.name, manufacturer.address)) : words.noMaker],
    [
      words.madeBy,
      words.madeByOf({
        alloy: brief(family.body.alloy),
        heats: brief(once(heats)),
        recipes: brief([...facts.recipes.keys()].join('; ')),
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
