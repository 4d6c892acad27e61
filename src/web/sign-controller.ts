import { Body, Controller, Get, Header, Post, Query, Res } from '@nestjs/common';
import type { Response } from 'express';
import { z } from 'zod';
import { Meaning } from '../dossier/statement.js';
import { Accounts } from '../signing/accounts.js';
import { ACTS, INDEPENDENCE, ORDER } from '../signing/authority.js';
import { SigningPreview } from '../signing/before-signing.js';
import { Signing } from '../signing/signing.js';
import { type Thing, thingFrom, thingText } from '../signing/thing.js';
import { Actor } from './actor.js';
import { type FormError, formErrors } from './form-errors.js';
import { HTML } from './html.js';
import { Pages } from './pages.js';
import { readForm, readRequest } from './request-checks.js';

const MOST_THINGS = 500;
/** Beyond this many, things are listed by their title alone: findings of one kind, decided together. */
const MOST_SHOWN_IN_FULL = 5;

const several = z
  .union([z.string(), z.array(z.string())])
  .transform((value) => [value].flat())
  .pipe(z.array(z.string().min(1).max(400)).min(1, 'at least one thing').max(MOST_THINGS));

const SignQuery = z.strictObject({ thing: several, meaning: Meaning });

const SignForm = z.strictObject({
  thing: several,
  meaning: Meaning,
  unit: several.optional(),
  outcome: z.enum(['accepted', 'rejected'], 'accepted or rejected').optional(),
  reason: z.string().max(4000, 'at most 4000 characters').default(''),
  password: z.string().min(1, 'your password').max(512, 'your password'),
});

const LABELS = { unit: 'Units', outcome: 'Decision', reason: 'Reason', password: 'Password' };

/** One page on which every signature is given, and one that says who may give which. */
@Controller()
export class SignController {
  constructor(
    private readonly pages: Pages,
    private readonly preview: SigningPreview,
    private readonly signing: Signing,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Get('sign')
  @Header(...HTML)
  async show(@Query() query: unknown): Promise<string> {
    const { thing, meaning } = readRequest(SignQuery, query, 'follow a link from the first page or from a lot');
    return this.page(thing.map(thingFrom), meaning, {}, []);
  }

  @Post('sign')
  async sign(@Body() body: unknown, @Res() response: Response): Promise<void> {
    const typed = (body ?? {}) as Record<string, unknown>;
    const { thing, meaning } = readRequest(SignQuery, { thing: typed.thing, meaning: typed.meaning });
    const things = thing.map(thingFrom);
    try {
      const { unit, outcome, reason, password } = readForm(SignForm, body);
      const proof = await this.accounts.prove(this.actor.person, password);
      const signed = await this.signing.sign(proof, { things, meaning, units: unit ?? [], outcome, reason });
      response.type('html').send(this.pages.render('signed', 'Signed', { signed, back: backOf(things) }));
    } catch (error) {
      const errors = formErrors(error, LABELS);
      response
        .status(400)
        .type('html')
        .send(await this.page(things, meaning, typed, errors));
    }
  }

  @Get('authority')
  @Header(...HTML)
  authority(): string {
    return this.pages.render('authority', 'Authority', {
      acts: ACTS.map((act) => ({
        ...act,
        independence: act.independence.map((rule) => INDEPENDENCE[rule]),
        order: act.order.map((rule) => ORDER[rule]),
      })),
    });
  }

  private async page(
    things: readonly Thing[],
    meaning: Meaning,
    typed: Record<string, unknown>,
    errors: readonly FormError[],
  ): Promise<string> {
    // After a conflict the digests that came with the address are out of date: the page shows what is there now.
    const current =
      errors.length > 0
        ? things.map((thing) => ({ ...thing, digest: isFinding(thing) ? thing.digest : null }))
        : things;
    const seen = await this.preview.all(current, meaning, this.actor.person, this.actor.name);
    const [first] = seen;
    const needsUnits = meaning === 'released' || meaning === 'rejected';
    const assessment = first!.signable.assessed?.assessment;
    return this.pages.render('sign', `${errors.length > 0 ? 'Error: ' : ''}Sign as ${meaning}`, {
      meaning,
      seen,
      inFull: seen.slice(0, MOST_SHOWN_IN_FULL),
      others: seen.slice(MOST_SHOWN_IN_FULL),
      things: seen.map(({ signable }) => thingText(withKey(signable.subject))),
      back: backOf(things),
      errors,
      why: seen.find((one) => one.why !== null)?.why ?? null,
      changes: seen.flatMap(({ changes }) => changes),
      reviewList: first!.reviewList,
      rulesOut: first!.rulesOut,
      units: needsUnits && assessment ? unitsFor(meaning, assessment, typed.unit) : null,
      needsOutcome: meaning === 'decided',
      needsReason: meaning === 'decided' || meaning === 'rejected',
      mayHaveReason: meaning === 'released',
      outcome: typed.outcome,
      reason: typeof typed.reason === 'string' ? typed.reason : '',
    });
  }
}

const isFinding = ({ kind }: Thing): boolean => / finding(?: group)?$/.test(kind);

const withKey = ({ kind, key, revision, digest }: Thing & { digest: string }): Thing => ({
  kind,
  key,
  revision,
  digest,
});

function unitsFor(
  meaning: Meaning,
  assessment: { units: readonly { serial: string; verdict: string; releasable: boolean }[] },
  chosen: unknown,
) {
  const marked = chosen === undefined ? undefined : [chosen].flat();
  return assessment.units.map(({ serial, verdict, releasable }) => ({
    serial,
    verdict,
    may: meaning === 'rejected' || releasable,
    // Nothing is chosen for the person: releasing is an act, not a default.
    checked: marked?.includes(serial) ?? false,
  }));
}

function backOf(things: readonly Thing[]): { href: string; text: string } {
  const lot = things[0]?.kind === 'lot file' ? things[0].key : undefined;
  return lot === undefined
    ? { href: '/', text: 'Lots' }
    : { href: `/lots/${encodeURIComponent(lot)}`, text: `Lot ${lot}` };
}
