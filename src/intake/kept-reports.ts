import { randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import type { IntakeReport } from './intake-report.js';

/** Far more than people look at; what was stored stands in the audit trail. */
const MOST = 100;

/** What the last intakes by page did, each for the person who sent it: the page that tells it is led to, and may be reloaded. */
@Injectable()
export class KeptReports {
  private readonly kept = new Map<string, { readonly person: string; readonly report: IntakeReport }>();

  /** @returns under which name it is found. */
  keep(person: string, report: IntakeReport, name = randomBytes(16).toString('base64url')): string {
    const [oldest] = this.kept.keys();
    if (this.kept.size >= MOST) this.kept.delete(oldest!);
    this.kept.set(name, { person, report });
    return name;
  }

  has(person: string, name: string): boolean {
    return this.kept.get(name)?.person === person;
  }

  /** Names of those of a person, the last one first. */
  ofPerson(person: string): string[] {
    return [...this.kept]
      .filter(([, kept]) => kept.person === person)
      .map(([name]) => name)
      .reverse();
  }

  /** @throws NotFoundError for what was not kept, or is somebody else's. */
  of(person: string, name: string): IntakeReport {
    const kept = this.kept.get(name);
    if (kept?.person === person) return kept.report;
    throw new NotFoundError('answer to an upload', name, 'any more; the audit trail says what was stored');
  }
}
