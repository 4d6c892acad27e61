import { parseForm } from '../base/later-form.js';
import { canonicalJson } from '../dossier/canonical.js';
import { namedFirst, SignedStatement, Statement } from '../dossier/statement.js';
import type { Db } from './db.js';
import type { Question, SignatureRow } from './questions.js';
import { readable } from './readable.js';
import type { Recorder } from './recorder.js';

/** A signed statement with its place in the ledger. */
export interface RecordedSignature {
  readonly signed: SignedStatement;
  readonly ledgerSeq: number;
}

/** Signed statements, in the order of signing, each once. */
export class Signatures<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Those that cover any of these digests. */
  on(digests: readonly string[]): Promise<RecordedSignature[]> {
    return this.asked(this.db.sql.SIGNATURES_ON, JSON.stringify(digests));
  }

  of(subject: { kind: string; key: string }): Promise<RecordedSignature[]> {
    return this.asked(this.db.sql.SIGNATURES_OF, subject.kind, subject.key);
  }

  ofKind(kind: string): Promise<RecordedSignature[]> {
    return this.asked(this.db.sql.SIGNATURES_OF_KIND, kind);
  }

  /** Everything that a person signed. */
  by(person: string): Promise<RecordedSignature[]> {
    return this.asked(this.db.sql.SIGNATURES_BY, person);
  }

  /** On things of a kind whose keys begin alike, byte by byte: the check findings of one lot, and of no other. */
  starting(kind: string, start: string): Promise<RecordedSignature[]> {
    const { from, before } = this.db.sql.boundsOfStart(start);
    return this.asked(this.db.sql.SIGNATURES_BETWEEN, kind, from, before);
  }

  /** Places in the ledger of signed statements, by their digests. */
  async entries(digests: readonly string[]): Promise<number[]> {
    const sql = this.db.sql.ENTRIES_OF_SIGNATURES;
    const rows = await this.db.ask(sql, JSON.stringify(digests));
    return rows.map(({ ledgerSeq }) => ledgerSeq);
  }

  async statement(digest: string): Promise<Statement | undefined> {
    const row = await this.db.client.signature.findUnique({ where: { digest } });
    return row ? parseForm(`statement ${digest}`, Statement, JSON.parse(row.statement)) : undefined;
  }

  async add(this: Signatures<Recorder>, { statement, digest, signature }: SignedStatement): Promise<void> {
    const { meaning, subjects } = statement;
    const person = statement.person.code;
    const subject = namedFirst(statement);
    await this.db.recorder.record(
      { type: 'statement-signed', meaning, subject, subjects: subjects.length, person, digest },
      {
        Signature: [{ digest, meaning, person, statement: canonicalJson(statement), signature }],
        SignatureSubject: subjects.map((item) => ({ ...item, signature: digest })),
      },
    );
  }

  private async asked<Values extends readonly string[]>(
    question: Question<Values, SignatureRow>,
    ...values: Values
  ): Promise<RecordedSignature[]> {
    const found = await this.db.ask(question, ...values);
    return found.map(({ statement, digest, signature, ledgerSeq }) => ({
      signed: readable(`statement ${digest}`, () =>
        parseForm(`statement ${digest}`, SignedStatement, { statement: JSON.parse(statement), digest, signature }),
      ),
      ledgerSeq,
    }));
  }
}
