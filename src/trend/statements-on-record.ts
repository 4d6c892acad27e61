import { Injectable } from '@nestjs/common';
import { CapabilityStatement } from '../assessment/family/statement.js';
import { parseForm } from '../base/later-form.js';
import { capabilitySubject } from '../dossier/signable.js';
import { timeText } from '../dossier/time-text.js';
import { sinceStated } from '../records/capability/since-stated.js';
import { statementAddress } from '../report/page-addresses.js';
import { ableText } from '../report/phrases/able.js';
import { signedText } from '../report/phrases/signatures.js';
import { sinceTexts } from '../report/phrases/statement-paper.js';
import { signAddress } from '../signing/sign-address.js';
import { Store } from '../store/store.js';

/** A statement as lists of them tell it. */
export interface StatementLine {
  readonly number: number;
  readonly digest: string;
  readonly at: string;
  readonly statedAt: string;
  /** First day and last day of closing that it looks at. */
  readonly from: string;
  readonly to: string;
  readonly says: string;
  readonly reviewed: string | null;
  /** What came to be known of it, a sentence each. */
  readonly since: readonly string[];
  readonly paper: string;
  /** The page on which it is reviewed; undefined where somebody did. */
  readonly sign: string | undefined;
}

/** So many are told; each is read whole. */
const MOST = 10;

/** What was stated of a characteristic, and how that stands now. */
@Injectable()
export class StatementsOnRecord {
  constructor(private readonly store: Store) {}

  /** Latest first. */
  async of(family: string, characteristic: string): Promise<StatementLine[]> {
    const { read } = this.store;
    const lines: StatementLine[] = [];
    for (const { digest, number, body, recordedAt } of await read.capabilityStatements.last(
      family,
      characteristic,
      MOST,
    )) {
      const statement = parseForm(`statement ${digest}`, CapabilityStatement, JSON.parse(body));
      const { window } = statement.input;
      const signed = (await read.signatures.on([digest])).map((one) => one.signed.statement);
      const review = signed.find(({ meaning }) => meaning === 'reviewed');
      const subject = capabilitySubject({ family, characteristic, number, digest });
      lines.push({
        ...{ number, digest, at: timeText(recordedAt), statedAt: recordedAt, from: window.from, to: window.to },
        says: ableText(statement.study.index),
        reviewed: review === undefined ? null : signedText(review),
        since: sinceTexts(await sinceStated(read, statement)),
        paper: statementAddress(family, characteristic, number),
        sign: review === undefined ? signAddress([subject], 'reviewed') : undefined,
      });
    }
    return lines;
  }
}
