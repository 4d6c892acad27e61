import { invalidRows, testsCalledInvalid } from './acceptance.js';
import { type Carried, digest, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { decided } from './closures.js';
import {
  approvalOf,
  BLOCKS,
  C,
  certificateDigest,
  D,
  type Found,
  found,
  implantsOfBuilds,
  implantsOfRows,
  isApproved,
  receiptDigest,
  receiptsOf,
  unapproved,
} from './words.js';

const earliest = (times: readonly string[]): string => times.reduce((a, b) => (moment(b) < moment(a) ? b : a));

/** Kinds of which the whole body is signed, but for the three that grow. */
function claims(carried: Carried): { claimed: string; outcome: string | null; signed: Json[]; units: string[] }[] {
  const { lot, current, rows, serials, cases } = carried;
  const ofReceipt = (code: string): string[] =>
    implantsOfBuilds(
      carried,
      carried.builds.filter((build) => receiptsOf(carried, build).some(({ key }) => key === code)),
    );
  const ofDocument = ({ kind, key }: Json): string[] => {
    if (carried.dossier.pinned.some((item: Json) => item.kind === kind && item.key === key)) return [...serials];
    const holding = cases.filter(({ pinned }) => pinned.some((item: Json) => item.kind === kind && item.key === key));
    const codes = holding.map((one) => one.case);
    return carried.implants.filter((one) => codes.includes(one.case)).map(({ serial }) => serial);
  };
  const documents = carried.documents.flatMap((item) => {
    const { kind, key, body } = item;
    const claim = (claimed: string, covered: string | undefined, meaning: string, units: string[]) => ({
      ...{ claimed, outcome: null, units },
      signed: carried.signed(covered, meaning),
    });
    if (kind === 'receipt') {
      const { acceptance, certificate } = body;
      return [
        ...(acceptance && !acceptance.original
          ? [claim(acceptance.by, receiptDigest(body), 'approved', ofReceipt(key))]
          : []),
        ...(certificate?.checkedBy
          ? [claim(certificate.checkedBy, certificateDigest(body), 'checked', ofReceipt(key))]
          : []),
      ];
    }
    const { approval } = body ?? {};
    if (approval === undefined || approval.original !== undefined) return [];
    return [claim(approval.by, item.digest, 'approved', ofDocument(item))];
  });
  const sheets = carried.allPinned('result-set').flatMap((sheet) => {
    const own = current.filter(({ evidence }) => evidence === sheet.body.evidence);
    const units = implantsOfRows(
      carried,
      rows.filter(({ evidence }) => evidence === sheet.body.evidence),
    );
    const names = unique(own.map(({ checkedBy }) => checkedBy!)).filter((name) => name !== '');
    const signed = carried.signed(sheet.digest, 'checked');
    return names.map((claimed) => ({ claimed, outcome: null, signed, units }));
  });
  const decisions = (lot.decisions ?? []).map(({ finding, by, decision }: Json) => ({
    ...{ claimed: by, outcome: decision, units: [] },
    signed: carried.statements.filter(
      ({ meaning, subjects }) => meaning === 'decided' && subjects.some((one: Json) => one.digest.startsWith(finding)),
    ),
  }));
  const invalid = invalidRows(carried);
  const tests = testsCalledInvalid(carried).map(({ test, row }) => {
    const statement = invalid.get(row.row);
    return { claimed: test.decidedBy, outcome: null, signed: statement ? [statement] : [], units: [] };
  });
  return [...documents, ...sheets, ...decisions, ...tests];
}

/** The fields by which a characteristic decides. */
const DECIDING = ['ucum', 'lower', 'upper', 'target', 'decision', 'rounding', 'plan', 'averaging', 'replicates'];
const decidingOf = (item: Json): string =>
  JSON.stringify([...DECIDING, 'measuredOn', 'zoneClass', 'method'].map((name) => sorted(item[name])));
const sorted = (value: Json): Json =>
  value !== null && typeof value === 'object' ? Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)) : value;

export const CHECKS_OF_PAPERS: Readonly<Record<string, Asked>> = {
  'specification-in-force': (carried) => {
    const { digest, body } = carried.specification;
    const first = earliest(carried.builds.map(({ closedAt }) => closedAt));
    const about = { before: first, rule: 'approved after the build', units: carried.serials };
    return {
      found: [
        ...(moment(body.effectiveFrom) > moment(first) ? [found('not yet effective', carried.serials, C)] : []),
        ...unapproved(approvalOf(carried, digest, body.approval), about),
      ],
    };
  },

  'documents-not-withdrawn': ({ dossier, cases, implants, serials }) => {
    const ofCases = cases.flatMap((one) =>
      one.withdrawn.map(({ kind, key, revision }: Json) => ({ name: `${kind} ${key} ${revision}`, of: one.case })),
    );
    return {
      found: [
        ...dossier.withdrawn.map(() => found('withdrawn for cause', serials, C)),
        ...unique(ofCases.map(({ name }) => name)).map((name) => {
          const codes = ofCases.filter((one) => one.name === name).map(({ of }) => of);
          const units = implants.filter((one) => codes.includes(one.case)).map(({ serial }) => serial);
          return found('withdrawn for cause', units, C);
        }),
      ],
    };
  },

  'claims-agree': (carried) => {
    const all = claims(carried);
    const differing = all.filter(({ claimed, outcome, signed }) => {
      if (signed.length === 0) return false;
      const isSaid = signed.some(({ person }) => person.code === claimed || person.deputyFor === claimed);
      return !isSaid || !signed.every((one) => outcome === null || one.outcome === outcome);
    });
    return { found: differing.map(({ units }) => found('another signer', units, D)), applies: all.length > 0 };
  },

  'limits-before-data': (carried) => {
    const { key, revision, body } = carried.specification;
    return {
      found: body.characteristics.flatMap((item: Json) => {
        const holding = carried
          .allPinned('specification')
          .filter(
            (one) =>
              (one.key === key && one.revision === revision) ||
              one.body.characteristics.some(
                (other: Json) => other.characteristic === item.characteristic && decidingOf(other) === decidingOf(item),
              ),
          );
        const since = earliest(
          holding.flatMap((one) => [
            one.recordedAt,
            ...(one.body.approval?.original === undefined ? [] : [one.body.approval.at]),
          ]),
        );
        const rows = carried.current.filter(({ characteristic }) => characteristic === item.characteristic);
        const isLate = rows.some(({ measuredAt }) => moment(measuredAt!) < moment(since));
        return isLate ? [found('limits recorded after the data', carried.serials, { ...BLOCKS, ...D })] : [];
      }),
      applies: carried.current.length > 0,
    };
  },

  'counts-balance': (carried) => ({
    found: carried.serials.flatMap((serial) => {
      const fate = (carried.lot.fates ?? []).find(({ part }: Json) => part === serial);
      const rows = carried.current.filter(({ specimen }) => specimen === serial);
      const isUsedUp = rows.some((row) => isDestructive(carried, row));
      if (isUsedUp && fate?.as !== 'tested') return [found('used up by a test and not said so', [serial], BLOCKS)];
      const isShown = fate?.evidence !== undefined || isUsedUp;
      return fate === undefined || isShown
        ? []
        : [found('nothing shows its fate', [serial], { ...BLOCKS, isWant: true })];
    }),
    applies: carried.serials.length > 0,
  }),

  'labels-balance': ({ lot, serials }) => {
    const { labels, steps = [] } = lot;
    if (labels === undefined) {
      const isPacked = steps.some(({ step }: Json) => step === 'pack');
      return { found: isPacked ? [found('not counted', serials, { ...BLOCKS, isWant: true })] : [], applies: isPacked };
    }
    const isEven = labels.used + labels.destroyed === labels.printed;
    return { found: isEven ? [] : [found('does not add up', serials, BLOCKS)] };
  },

  'moves-signed': (carried) => {
    const moves = carried.allPinned('unit-move');
    return {
      found: moves.flatMap(({ digest: covered, body }) => {
        const approval = approvalOf(carried, covered, undefined);
        return isApproved(approval) ? [] : [found(approval.how, body.implants ?? [])];
      }),
      applies: moves.length > 0,
    };
  },

  'nonconformities-closed': (carried) => {
    const all = reportsOf(carried);
    return {
      found: all.flatMap(({ body, units }: Json): Found[] => {
        const { nonconformity, says, touches, evaluation, disposition, closure } = body;
        const told = (rule: string, on = units) => [found(rule, on, BLOCKS)];
        if (evaluation === undefined) return told('not evaluated');
        if (disposition === undefined) return told('no disposition');
        const covered = { nonconformity, says, touches, evaluation, disposition };
        const outcome = decided(carried, digest(covered));
        if (outcome === 'rejected') return told('disposition rejected');
        if (outcome !== 'accepted') return told('disposition not decided');
        if (closure === undefined) return told('not closed');
        if (carried.signed(digest({ ...covered, closure }), 'approved').length === 0)
          return told('closure not approved');
        return units.flatMap((unit: string) => {
          const of = disposition.find((one: Json) => one.units.includes(unit));
          return of?.as === 'scrap' || of?.as === 'return' ? told('not to be released', [unit]) : [];
        });
      }),
      applies: all.length > 0,
    };
  },
};

/** Nonconformities with the implants of the lot on which they act. */
export const reportsOf = (carried: Carried): { readonly body: Json; readonly units: readonly string[] }[] =>
  carried.allPinned('nonconformity').flatMap(({ body }: Json) => {
    const units = carried.serials.filter((serial: string) =>
      body.touches.some(({ kind, key }: Json) => {
        if (kind === 'implant') return key === serial;
        if (kind !== 'coupon') return carried.allPinned(kind).some((item: Json) => item.key === key);
        return carried.lot.coupons.some(({ coupon, standsFor }: Json) => coupon === key && standsFor.includes(serial));
      }),
    );
    return units.length === 0 ? [] : [{ body, units }];
  });

export const methodOf = (carried: Carried, { method, methodRevision }: Json): Json =>
  carried.pinned('method', method, methodRevision);
export const isDestructive = (carried: Carried, row: Json): boolean =>
  methodOf(carried, row)?.body.destructive === 'destructive';
