import { ACCEPTED_STEPS, faultsOf } from '../assessment/loads.js';
import { digestOf } from '../dossier/canonical.js';
import {
  capabilitySubject,
  certificateSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
  stockPartSubject,
} from '../dossier/signable.js';
import type { Meaning } from '../dossier/statement.js';
import type { KindName } from '../kinds/catalogue.js';
import { commonFields } from '../kinds/common-fields.js';
import type { SignablePart } from '../kinds/kind.js';
import { closurePart, dispositionPart } from '../kinds/nonconformity.js';
import { actOf } from '../people/acts.js';
import { THINGS } from '../report/phrases/things.js';
import { anyOf, ofType, revisionsOf } from '../store/remembered.js';
import type { Store } from '../store/store.js';
import type { Open } from './pending.js';

const DOCUMENT_KINDS = actOf('performed', 'recipe')!.kinds;
const OTHER_KINDS = [
  ...['receipt', 'design-acceptance', 'process-load', 'person', 'nonconformity', 'impact', 'risk-build', 'recall'],
  'corrective-action',
  'stock-part',
] as const satisfies readonly KindName[];

const ALL_KINDS = [...DOCUMENT_KINDS, ...OTHER_KINDS];

/** The current documents of a kind. */
type Latest = Awaited<ReturnType<Store['read']['entries']['lists']>>;

/** What somebody has to sign sooner or later of the documents of the site, whether or not it was signed already. */
export class OpenSignatures {
  /** Entries that may change what is open, or whether it was signed. */
  readonly touches = anyOf(revisionsOf(...ALL_KINDS), ofType('capability-stated', 'statement-signed'));

  constructor(private readonly store: Store) {}

  async all(): Promise<Open[]> {
    const latest = await this.store.read.entries.lists(ALL_KINDS);
    return [
      ...documents(latest),
      ...receipts(latest),
      ...acceptances(latest),
      ...loads(latest),
      ...stockParts(latest),
      ...qualifications(latest),
      ...nonconformities(latest),
      ...decided(latest, 'impact'),
      ...decided(latest, 'risk-build'),
      ...correctiveActions(latest),
      ...recalls(latest),
      ...(await this.capabilityStatements()),
    ];
  }

  /** One that another took the place of is reviewed no more. */
  private async capabilityStatements(): Promise<Open[]> {
    return (await this.store.read.capabilityStatements.latestOfAll()).map((stated): Open => {
      const subject = capabilitySubject(stated);
      return { subject, title: THINGS.capability(subject.key, subject.revision), meaning: 'reviewed' };
    });
  }
}

function documents(latest: Latest): Open[] {
  const found: Open[] = [];
  for (const kind of DOCUMENT_KINDS) {
    for (const revision of latest(kind)) {
      if (commonFields(revision.body).approval?.original !== undefined) continue;
      const title = THINGS.document(revision);
      const subject = revisionSubject(revision);
      found.push({ subject, title, meaning: 'performed' }, { subject, title, meaning: 'approved' });
    }
  }
  return found;
}

function receipts(latest: Latest): Open[] {
  return latest('receipt').flatMap(({ key, body: receipt }): Open[] => {
    const certificate = certificateSubject(receipt);
    const doers = { transcriber: receipt.certificate ? [receipt.certificate.transcribedBy] : [] };
    const decided = receipt.status !== 'quarantine' && receipt.acceptance?.original === undefined;
    return [
      ...(certificate
        ? [{ subject: certificate, title: THINGS.certificateOf(key), meaning: 'checked' as const, doers }]
        : []),
      ...(decided
        ? [
            {
              subject: receiptSubject(receipt),
              title: THINGS.receiptDecided(key, receipt.status),
              meaning: 'approved' as const,
              doers,
            },
          ]
        : []),
    ];
  });
}

function acceptances(latest: Latest): Open[] {
  return latest('design-acceptance').map((revision): Open => {
    const doers = { enterer: [revision.body.enteredBy] };
    return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'checked', doers };
  });
}

/** One that did not run as it must is accepted by nobody: it is run again, and people decide on it. */
function loads(latest: Latest): Open[] {
  return latest('process-load')
    .filter(({ body }) => ACCEPTED_STEPS.has(body.step) && faultsOf({ body }).length === 0)
    .map((revision): Open => {
      const doers = { runner: [revision.body.by] };
      return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'approved', doers };
    });
}

function stockParts(latest: Latest): Open[] {
  return latest('stock-part')
    .filter(({ body }) => body.acceptance?.original === undefined)
    .map(({ key, body }): Open => {
      const doers = { preparer: (body.interface.prepared ?? []).map(({ by }) => by) };
      return { subject: stockPartSubject(body), title: THINGS.stockPart(key), meaning: 'approved', doers };
    });
}

function qualifications(latest: Latest): Open[] {
  return latest('person').flatMap(({ key, body }) =>
    body.qualifications.map(
      (qualification): Open => ({
        subject: qualificationSubject(key, qualification),
        title: THINGS.training(body.name, qualification.operation),
        meaning: 'approved',
        doers: { self: [key] },
      }),
    ),
  );
}

function nonconformities(latest: Latest): Open[] {
  return latest('nonconformity').flatMap(({ key, body }): Open[] => {
    const [disposition, closure] = [dispositionPart(body, digestOf), closurePart(body, digestOf)];
    const open = (part: SignablePart, title: string, meaning: Meaning): Open => ({
      subject: { ...part, revision: null },
      title,
      meaning,
    });
    return [
      ...(disposition ? [open(disposition, THINGS.disposition(key), 'decided')] : []),
      ...(closure ? [open(closure, THINGS.closure(key), 'approved')] : []),
    ];
  });
}

function decided(latest: Latest, kind: 'impact' | 'risk-build'): Open[] {
  return latest(kind).map(
    (revision): Open => ({
      subject: revisionSubject(revision),
      title: THINGS.document(revision),
      meaning: 'decided',
    }),
  );
}

/** Of those that were looked at whether they worked, whatever came of it. */
const correctiveActions = (latest: Latest): Open[] =>
  latest('corrective-action')
    .filter(({ body }) => body.effectiveness !== undefined)
    .map(
      (revision): Open => ({
        subject: revisionSubject(revision),
        title: THINGS.document(revision),
        meaning: 'approved',
      }),
    );

function recalls(latest: Latest): Open[] {
  const closed = latest('recall').filter(({ body }) => body.closed !== undefined);
  return closed.map(
    (revision): Open => ({
      subject: revisionSubject(revision),
      title: THINGS.document(revision),
      meaning: 'approved',
    }),
  );
}
