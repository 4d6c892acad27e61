import { type Acceptance, accept, worst } from './acceptance.js';
import { type Carried, digest, type Json } from './carried.js';
import { type Checked, checkAll, statedChecks } from './checks.js';
import { reportsOf } from './checks-of-papers.js';
import { decided } from './closures.js';
import { chartOf, indicesOf } from './indices.js';
import {
  alteredDocuments,
  alteredFiles,
  foreignKeys,
  foreignPeople,
  headFault,
  leftOut,
  onlyGrew,
  otherPages,
  unproven,
  unsigned,
  unsignedActs,
  untimely,
} from './trust.js';
import { identityOf } from './words.js';

/** Where what the record states is not what the note leads to; empty for a record that holds. */
export function disagreements(carried: Carried): string[] {
  const { enclosure } = carried;
  const head = enclosure.ledger.checkpoint === null ? undefined : headFault(carried);
  return [
    ...alteredFiles(carried).map((name) => `altered: ${name}`),
    ...alteredDocuments(carried).map((name) => `altered: ${name}`),
    ...unsigned(carried).map((digest) => `not signed: ${digest}`),
    ...unsignedActs(carried).map((act) => `not signed: ${act}`),
    ...leftOut(carried).map((what) => `left out: ${what}`),
    ...untimely(carried).map((digest) => `not signed then: ${digest}`),
    ...otherPages(carried).map((digest) => `first page: ${digest}`),
    ...foreignKeys(carried).map((fingerprint) => `not of the chain: ${fingerprint}`),
    ...foreignPeople(carried).map((fingerprint) => `nobody vouches: ${fingerprint}`),
    ...(head === undefined ? [] : [`head: ${head}`]),
    ...(enclosure.ledger.checkpoint === null ? [] : unproven(carried)).map((what) => `not proven: ${what}`),
    ...enclosure.earlier
      .filter((earlier: Json) => !onlyGrew(earlier, enclosure.ledger))
      .map(({ number }: Json) => `rewritten since ${number}`),
    ...assessmentDisagreements(carried),
  ];
}

/** The same of the assessment alone. */
export function assessmentDisagreements(carried: Carried): string[] {
  const { assessment } = carried;
  const verdicts = accept(carried);
  const checks = checkAll(carried);
  return [
    ...verdicts.flatMap((own, index) => acceptanceDiffers(own, assessment.characteristics[index])),
    ...statedChecks(carried).flatMap((stated, index) => checkDiffers(checks[index]!, stated)),
    ...assessment.units.flatMap((stated: Json) => unitDiffers(carried, verdicts, stated)),
    ...assessment.capability.flatMap((stated: Json) => {
      const { characteristic } = stated;
      const { characteristics } = carried.specification.body;
      const item = characteristics.find((one: Json) => one.characteristic === characteristic);
      const own = { ...indicesOf(carried, item), chart: chartOf(carried, item) };
      return differing(own, stated, `index of ${characteristic}`);
    }),
  ];
}

function acceptanceDiffers(own: Acceptance, stated: Json): string[] {
  const name = `${own.characteristic} of ${own.unit}`;
  const { characteristic, unit, verdict, acceptFrom, acceptTo, plan, numbers, isOpen } = own;
  const values = own.values.map((value) => ({
    row: value.row === undefined ? null : Number(value.row.row),
    specimen: value.specimen,
    replicate: value.replicate,
    verdict: value.verdict,
  }));
  const found = { characteristic, unit, verdict, acceptFrom, acceptTo, values, plan: { verdict: plan, numbers } };
  const isStatedOpen = stated.openUntil !== null;
  return [
    ...(values.length === stated.values.length ? [] : [`${name}: ${values.length} values`]),
    ...(isOpen === isStatedOpen ? [] : [`${name}: open ${isOpen}`]),
    ...differing(found, stated, name),
  ];
}

const checkDiffers = (own: Checked, stated: Checked): string[] =>
  JSON.stringify(own) === JSON.stringify(stated)
    ? []
    : [`check ${stated.code}: ${JSON.stringify(own)} where ${JSON.stringify(stated)} is stated`];

function unitDiffers(
  carried: Carried,
  verdicts: readonly Acceptance[],
  { serial, verdict, releasable }: Json,
): string[] {
  const against = (carried.assessment.checks as Json[]).flatMap(({ code, findings }) =>
    (findings as Json[])
      .filter(({ units }) => units.includes(serial))
      .map((one) => ({ ...one, isAccepted: decided(carried, identityOf(carried, code, one)) === 'accepted' }))
      .filter(({ mayBeDecided, isAccepted }) => mayBeDecided !== 'decision' || !isAccepted),
  );
  const isConceded = (id: string): boolean =>
    reportsOf(carried).some(({ body, units }) => {
      const { nonconformity, says, touches, evaluation, disposition = [], findings = [] } = body;
      return (
        units.includes(serial) &&
        findings.includes(id) &&
        disposition.some((one: Json) => one.units.includes(serial) && one.as === 'concession') &&
        decided(carried, digest({ nonconformity, says, touches, evaluation, disposition })) === 'accepted'
      );
    });
  const own = worst([
    ...verdicts.filter(({ unit, isOpen }) => unit === serial && !isOpen).map((one) => one.verdict),
    ...against.map(({ effect }) => (effect === 'blocks release' ? 'conforms' : effect)),
  ]);
  const isGone = (carried.lot.fates ?? []).some(({ part }: Json) => part === serial);
  const mayGo =
    !isGone &&
    against.every(({ mayBeDecided, id }) => mayBeDecided === 'concession' && isConceded(id)) &&
    (own === 'conforms' || against.length > 0);
  return [
    ...(own === verdict ? [] : [`${serial}: ${own} where ${verdict} is stated`]),
    ...(mayGo === releasable ? [] : [`${serial}: releasable ${mayGo}`]),
  ];
}

/** What was found and is not stated so; numbers to one unit of the ninth significant digit. */
function differing(own: Json, stated: Json, place: string): string[] {
  if (own !== null && typeof own === 'object') {
    if (stated === null || typeof stated !== 'object') return [`${place}: stated as ${JSON.stringify(stated)}`];
    return Object.entries(own).flatMap(([name, value]) => differing(value, stated[name], `${place}.${name}`));
  }
  const isClose = typeof own === 'number' && Math.abs(own - stated) <= 1e-8 * Math.abs(own);
  return isClose || own === stated ? [] : [`${place}: ${own} where ${JSON.stringify(stated)} is stated`];
}
