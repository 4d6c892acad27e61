import { AppError } from '../base/errors.js';
import { parseForm } from '../base/later-form.js';
import { canonicalJson } from '../dossier/canonical.js';
import { namedFirst, SignedStatement, Statement } from '../dossier/statement.js';
import { faultOfSigned, type KnownKeys } from '../ledger/signed-statement.js';
import type { Db } from './db.js';
import { Events } from './events.js';
import type { Question } from './instruction.js';
import type { SignatureRow } from './questions.js';
import { ReadOnce } from './read-once.js';
import { readable } from './readable.js';
import type { Recorder } from './recorder.js';

/** A signed statement with its place in the ledger. */
export interface RecordedSignature {
  readonly signed: SignedStatement;
  readonly ledgerSeq: number;
}

/** Every act looks at the signatures on what it rests on. */
const READ = new ReadOnce<SignedStatement>(4000);

/**
 * Signed statements, in the order of signing, each once. What a change reads decides what may be done next: there each
 * statement must be signed by its person and by the installation, and one that is not stops the act.
 */
export class Signatures<R = unknown> {
  private known: KnownKeys | undefined;

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

  /** Those that have these digests themselves. */
  withDigests(digests: readonly string[]): Promise<RecordedSignature[]> {
    return this.asked(this.db.sql.SIGNATURES_WITH, JSON.stringify(digests));
  }

  /** Places in the ledger of signed statements, by their digests. */
  async entries(digests: readonly string[]): Promise<number[]> {
    const sql = this.db.sql.ENTRIES_OF_SIGNATURES;
    const rows = await this.db.ask(sql, JSON.stringify(digests));
    return rows.map(({ ledgerSeq }) => ledgerSeq);
  }

  async statement(digest: string): Promise<Statement | undefined> {
    const [row] = await this.db.ask(this.db.sql.SIGNED, digest);
    return row ? parseForm(`statement ${digest}`, Statement, JSON.parse(row.statement)) : undefined;
  }

  /**
   * @throws AppError CONFLICT for the same words of the same person at the same time: what was signed so once stands once,
   * and what befell it since is not lifted by it.
   */
  async add(this: Signatures<Recorder>, signed: SignedStatement): Promise<void> {
    const { statement, digest, personSignature, signature } = signed;
    if ((await this.statement(digest)) !== undefined) throw saidAlready(statement);
    const { meaning, subjects } = statement;
    const person = statement.person.code;
    const subject = namedFirst(statement);
    await this.db.recorder.record(
      { type: 'statement-signed', meaning, subject, subjects: subjects.length, person, digest },
      {
        Signature: [{ digest, meaning, person, statement: canonicalJson(statement), personSignature, signature }],
        SignatureSubject: subjects.map((item) => ({ ...item, signature: digest })),
      },
    );
  }

  private async asked<Values extends readonly string[]>(
    question: Question<Values, SignatureRow>,
    ...values: Values
  ): Promise<RecordedSignature[]> {
    const found = await this.db.ask(question, ...values);
    const read = found.map(
      ({ statement, digest, personSignature, signature, ledgerSeq }): RecordedSignature => ({
        signed: readable(`statement ${digest}`, () =>
          READ.of(`${digest} ${personSignature} ${signature} ${statement}`, () =>
            parseForm(`statement ${digest}`, SignedStatement, {
              statement: JSON.parse(statement),
              digest,
              personSignature,
              signature,
            }),
          ),
        ),
        ledgerSeq,
      }),
    );
    if (this.db.recorder !== undefined) await this.demand(read);
    return read;
  }

  /**
   * Refuses statements that their person or the installation did not sign.
   * @throws AppError ALTERED naming entry and person.
   */
  async demand(recorded: readonly RecordedSignature[]): Promise<void> {
    if (recorded.length === 0) return;
    // A change sees one state of the database; whoever only reads sees it grow.
    const known = this.known ?? (await new Events(this.db).knownKeys());
    if (this.db.recorder !== undefined) this.known = known;
    for (const { signed, ledgerSeq } of recorded) {
      const fault = faultOfSigned(signed, known, ledgerSeq);
      if (fault === undefined) continue;
      const { code, name } = signed.statement.person;
      throw new AppError(
        'ALTERED',
        `the statement of ${name} (${code}) in entry ${ledgerSeq} does not hold (${fault}): run ledger verify`,
      );
    }
  }
}

const saidAlready = ({ at, demo }: Statement): AppError =>
  new AppError(
    'CONFLICT',
    `exactly this was signed at this very time, ${at}, and stands already${demo ? ' (the clock of a demo stands still)' : ''}: sign it with a reason, or at another time`,
  );
