import { ACCEPTED_STEPS, faultsOf } from '../assessment/loads.js';
import { digestOf } from '../dossier/canonical.js';
import {
  capabilitySubject,
  certificateSubject,
  qualificationSubject,
  receiptSubject,
  revisionSubject,
} from '../dossier/signable.js';
import type { Meaning } from '../dossier/statement.js';
import { commonFields } from '../kinds/common-fields.js';
import type { SignablePart } from '../kinds/kind.js';
import { closurePart, dispositionPart } from '../kinds/nonconformity.js';
import { actOf } from '../people/authority.js';
import { THINGS } from '../report/phrases/things.js';
import type { Store } from '../store/store.js';
import type { Open } from './pending.js';

const DOCUMENT_KINDS = actOf('performed', 'recipe')!.kinds;

/** What somebody has to sign sooner or later of the documents of the site, whether or not it was signed already. */
export class OpenSignatures {
  constructor(private readonly store: Store) {}

  async all(): Promise<Open[]> {
    return [
      ...(await this.documents()),
      ...(await this.receipts()),
      ...(await this.acceptances()),
      ...(await this.loads()),
      ...(await this.qualifications()),
      ...(await this.nonconformities()),
      ...(await this.decided('impact')),
      ...(await this.decided('risk-build')),
      ...(await this.recalls()),
      ...(await this.capabilityStatements()),
    ];
  }

  private async documents(): Promise<Open[]> {
    const found: Open[] = [];
    for (const kind of DOCUMENT_KINDS) {
      for (const revision of await this.store.read.entries.list(kind)) {
        if (commonFields(revision.body).approval?.original !== undefined) continue;
        const title = THINGS.document(revision);
        const subject = revisionSubject(revision);
        found.push({ subject, title, meaning: 'performed' }, { subject, title, meaning: 'approved' });
      }
    }
    return found;
  }

  private async receipts(): Promise<Open[]> {
    return (await this.store.read.entries.list('receipt')).flatMap(({ key, body: receipt }): Open[] => {
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

  private async acceptances(): Promise<Open[]> {
    return (await this.store.read.entries.list('design-acceptance')).map((revision): Open => {
      const doers = { enterer: [revision.body.enteredBy] };
      return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'checked', doers };
    });
  }

  /** One that did not run as it must is accepted by nobody: it is run again, and people decide on it. */
  private async loads(): Promise<Open[]> {
    return (await this.store.read.entries.list('process-load'))
      .filter(({ body }) => ACCEPTED_STEPS.has(body.step) && faultsOf({ body }).length === 0)
      .map((revision): Open => {
        const doers = { runner: [revision.body.by] };
        return { subject: revisionSubject(revision), title: THINGS.document(revision), meaning: 'approved', doers };
      });
  }

  private async qualifications(): Promise<Open[]> {
    return (await this.store.read.entries.list('person')).flatMap(({ key, body }) =>
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

  private async nonconformities(): Promise<Open[]> {
    return (await this.store.read.entries.list('nonconformity')).flatMap(({ key, body }): Open[] => {
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

  private async decided(kind: 'impact' | 'risk-build'): Promise<Open[]> {
    return (await this.store.read.entries.list(kind)).map(
      (revision): Open => ({
        subject: revisionSubject(revision),
        title: THINGS.document(revision),
        meaning: 'decided',
      }),
    );
  }

  /** One that another took the place of is reviewed no more. */
  private async capabilityStatements(): Promise<Open[]> {
    return (await this.store.read.capabilityStatements.latestOfAll()).map((stated): Open => {
      const subject = capabilitySubject(stated);
      return { subject, title: THINGS.capability(subject.key, subject.revision), meaning: 'reviewed' };
    });
  }

  private async recalls(): Promise<Open[]> {
    const closed = (await this.store.read.entries.list('recall')).filter(({ body }) => body.closed !== undefined);
    return closed.map(
      (revision): Open => ({
        subject: revisionSubject(revision),
        title: THINGS.document(revision),
        meaning: 'approved',
      }),
    );
  }
}
