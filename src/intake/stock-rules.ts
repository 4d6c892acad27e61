import type { Problem } from '../base/errors.js';
import type { StockUse } from '../dossier/stock-story.js';
import { firstMadeIn } from '../kinds/build-chain.js';
import type { StockPart } from '../kinds/degradation/stock-part.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf, type Gone } from '../kinds/lot-after-build.js';
import type { Reads } from '../store/repositories.js';
import { eventsOf, usesOfStock } from '../store/stock-story.js';
import { bodyIf, type Known } from './known.js';
import { takenBackProblems } from './stock-fates.js';
import type { ReadDocument } from './yaml-document.js';

/**
 * Stock parts that cannot be what documents say: one that was in a patient or out of the cell, that its lot never gave up or
 * takes back, that is two, or on which two parts are built at once.
 */
export async function stockProblems(documents: readonly ReadDocument[], known: Known, read: Reads): Promise<Problem[]> {
  const problems: Problem[] = await takenBackProblems(documents, known, read);
  const asked: Asked = { documents, known, read };
  for (const document of documents) {
    const stock = bodyIf('stock-part', document);
    if (stock?.implant !== undefined) problems.push(...(await originProblems(document, stock, stock.implant, asked)));
    if (stock) problems.push(...(await useProblems(stock.stockPart, asked)));
    problems.push(...(await lateStory(document, asked)));
  }
  const coming = new Set(documents.flatMap((document) => bodyIf('stock-part', document)?.stockPart ?? []));
  const named = documents.flatMap((document) => partsOf(bodyIf('lot', document)).map(({ builtOn }) => builtOn));
  for (const code of new Set(named)) {
    if (!coming.has(code)) problems.push(...(await useProblems(code, asked)));
    problems.push(...(await tooSoonProblems(code, asked)));
  }
  return problems;
}

interface Asked {
  readonly documents: readonly ReadDocument[];
  readonly known: Known;
  readonly read: Reads;
}

/** What an implant has to be to become stock: never in a patient nor out of the cell, given up by its lot, and stock once. */
async function originProblems(
  document: ReadDocument,
  { stockPart }: StockPart,
  serial: string,
  asked: Asked,
): Promise<Problem[]> {
  const at = placeOf(document, 'implant');
  const implanted = await implantedBy(serial, asked);
  if (implanted) {
    return [
      {
        code: 'stock-was-implanted',
        ...at,
        found: `${serial}, which outcome ${implanted.key} says was implanted on ${implanted.at}`,
        expected: 'a part that never was in a patient',
        remedy: 'build on another part: what was implanted is never stock. Else correct the serial',
      },
    ];
  }
  const handover = await handoverOf(serial, asked);
  if (handover !== undefined) {
    return [
      {
        code: 'stock-left-the-cell',
        ...at,
        found: `${serial}, which handover ${handover} handed over`,
        expected: 'a part that never left the cell',
        remedy: 'build on another part: nobody knows what one that was away went through. Else correct the serial',
      },
    ];
  }
  const gone = await fateNow(serial, asked);
  const others = await stockOf(serial, asked);
  const twin = others.find((code) => code !== stockPart);
  return [
    ...(gone?.as === 'stock part'
      ? []
      : [
          {
            code: 'stock-not-given-up',
            ...at,
            found: `${serial}, of which its lot says ${gone === undefined ? 'nothing under fates' : `"${gone.as}" under fates`}`,
            expected: 'an implant of which its lot says "stock part" under fates',
            remedy: 'say so in the lot in which it was made, or correct the serial',
          },
        ]),
    ...(twin === undefined
      ? []
      : [
          {
            code: 'stock-twice',
            ...at,
            found: `${serial}, which is stock part ${twin} already`,
            expected: 'one stock part of each part',
            remedy: `name ${twin} where it is built on, or correct the serial`,
          },
        ]),
  ];
}

/** A handover or an outcome that comes late, of what is stock already. */
async function lateStory(document: ReadDocument, asked: Asked): Promise<Problem[]> {
  const [outcome, handover] = [bodyIf('outcome', document), bodyIf('handover', document)];
  const implanted = outcome?.what === 'implanted' ? [{ serial: outcome.implant, field: 'implant' }] : [];
  const handed = (handover?.implants ?? []).map((serial, index) => ({ serial, field: `implants[${index}]` }));
  const [code, what] = handover ? ['stock-left-the-cell', 'handed over'] : ['stock-was-implanted', 'implanted'];
  const problems: Problem[] = [];
  for (const { serial, field } of [...implanted, ...handed]) {
    for (const stock of await stockOf(serial, { ...asked, documents: [] })) {
      problems.push({
        ...{ code, ...placeOf(document, field), found: `${serial} ${what}, and it is stock part ${stock}` },
        expected: `a unit that is no stock part: what was ${what} is never stock`,
        remedy: `correct the serial; if it is right, reject whatever was built on ${stock}, and ask how it came back`,
      });
    }
  }
  return problems;
}

async function handoverOf(serial: string, { documents, read }: Asked): Promise<string | undefined> {
  const coming = documents.flatMap((document) => bodyIf('handover', document) ?? []);
  const own = coming.find(({ implants }) => implants.includes(serial));
  return own?.handover ?? (await eventsOf(read, serial)).find(({ kind }) => kind === 'handover')?.key;
}

async function implantedBy(serial: string, { documents, read }: Asked) {
  const coming = documents.flatMap((document) => {
    const body = bodyIf('outcome', document);
    return body?.implant === serial && body.what === 'implanted'
      ? [{ key: `${serial}:${body.n}`, at: body.on as string }]
      : [];
  });
  const stored = (await eventsOf(read, serial)).filter(({ what }) => what === 'implanted');
  return [...coming, ...stored][0];
}

/** What its lot says became of an implant, as it comes in or as it is stored. */
async function fateNow(serial: string, { documents, known, read }: Asked): Promise<Gone | undefined> {
  const coming = documents
    .flatMap((document) => bodyIf('lot', document) ?? [])
    .find(({ implants }) => implants.some((one) => one.serial === serial));
  if (coming) return fateOf(coming, serial);
  const implant = await read.entries.current('implant', serial);
  const lot = implant && (await known.body('lot', implant.body.lot));
  return lot && fateOf(lot, serial);
}

async function stockOf(serial: string, { documents, read }: Asked): Promise<string[]> {
  const stored = await read.entries.tiedTo('stock-part', 'implant', serial, 'was implant');
  const coming = documents.flatMap((document) => {
    const body = bodyIf('stock-part', document);
    return body?.implant === serial ? [body.stockPart] : [];
  });
  return [...new Set([...coming, ...stored.map(({ key }) => key)])];
}

interface ComingUse extends StockUse {
  readonly document?: ReadDocument;
  readonly field?: string;
}

/** A stock part is built on once, and again only after what was built on it was taken off. */
async function useProblems(code: string, { documents, known, read }: Asked): Promise<Problem[]> {
  const stock = await known.body('stock-part', code);
  // One that nobody knows is a problem of its own, found with the references.
  if (stock === undefined) return [];
  const coming = documents.flatMap((document) => comingUses(document, code));
  const own = new Set(coming.map(({ part }) => part));
  const stored: ComingUse[] = (await usesOfStock(read, code)).filter(({ part }) => !own.has(part));
  const all = [...stored, ...coming].sort((a, b) => Date.parse(a.closedAt) - Date.parse(b.closedAt));
  return all.slice(1).flatMap((use, index): Problem[] => {
    const before = all[index]!;
    const isFree = (stock.takenOff ?? []).some(
      ({ implant, at }) =>
        implant === before.part &&
        Date.parse(at) >= Date.parse(before.closedAt) &&
        Date.parse(at) <= Date.parse(use.closedAt),
    );
    const teller = use.document ? use : before.document ? before : undefined;
    if (isFree || teller === undefined) return [];
    return [
      {
        code: 'stock-in-use',
        ...placeOf(teller.document!, teller.field!),
        found: `${code}, on which ${before.part} of lot ${before.lot} was built in ${before.build} and ${use.part} of lot ${use.lot} in ${use.build}`,
        expected: 'a stock part that is built on once, or that was freed again before the second build',
        remedy: `name another stock part, or say under takenOff of ${code} when and how the metal of ${before.part} was taken off`,
      },
    ];
  });
}

function comingUses(document: ReadDocument, code: string): ComingUse[] {
  const lot = bodyIf('lot', document);
  return partsOf(lot).flatMap((part) => {
    const build = firstMadeIn(lot!, part);
    if (part.builtOn !== code || build === undefined) return [];
    const use = { stockPart: code, part: part.code, lot: lot!.lot, build: build.build, closedAt: build.closedAt };
    return [{ ...use, document, field: part.field }];
  });
}

function partsOf(lot: Lot | undefined) {
  const all = [
    ...(lot?.implants ?? []).map((part, index) => ({ part, code: part.serial, field: `implants[${index}].builtOn` })),
    ...(lot?.coupons ?? []).map((part, index) => ({ part, code: part.coupon, field: `coupons[${index}].builtOn` })),
  ];
  return all.flatMap(({ part: { builtOn, build }, code, field }) =>
    builtOn === undefined ? [] : [{ builtOn, build, code, field }],
  );
}

/** Nothing was built on a part before its lot gave it up: so nothing is ever built on itself. */
async function tooSoonProblems(code: string, asked: Asked): Promise<Problem[]> {
  const serial = (await asked.known.body('stock-part', code))?.implant;
  const gone = serial === undefined ? undefined : await fateNow(serial, asked);
  if (gone === undefined) return [];
  return asked.documents.flatMap((document) =>
    comingUses(document, code).flatMap(({ part, closedAt, field }) =>
      Date.parse(closedAt) >= Date.parse(gone.at)
        ? []
        : [
            {
              code: 'stock-too-soon',
              ...placeOf(document, field!),
              found: `${part} built on ${code} at ${closedAt}, before ${serial} was given up at ${gone.at}`,
              expected: 'a build that began after its stock was there',
              remedy: 'correct one of the two times, or name the stock part on which it was really built',
            },
          ],
    ),
  );
}

const placeOf = ({ file, lineOf }: ReadDocument, field: string) => ({ file, line: lineOf(field), field });
