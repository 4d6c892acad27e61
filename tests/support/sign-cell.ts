import type { Meaning } from '../../src/dossier/statement.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { thingFrom } from '../../src/signing/thing.js';
import { makeTestPeople, PASSWORD } from './people.js';
import type { Services } from './services.js';

const CAME_IN: readonly Meaning[] = ['performed', 'checked', 'approved'];

/** Makes the test people and lets them sign whatever came in, by the rules of everybody; lots are left to the test. */
export async function signWhatCameIn(services: Services): Promise<void> {
  if ((await services.accounts.people()).size === 0) await makeTestPeople(services);
  for (;;) {
    const open = (await services.waiting.all()).filter(
      ({ meaning, who }) => CAME_IN.includes(meaning) && who.length > 0,
    );
    const meaning = CAME_IN.find((one) => open.some((item) => item.meaning === one));
    if (meaning === undefined) return;
    // One act takes things of one kind, one lot and one case: what is of a case is called by its code.
    const kindOf = ({ thing }: { thing: string }) => {
      const { kind, key } = thingFrom(thing);
      return kindNamed(kind)?.caseOf ? `${kind} ${key}` : kind;
    };
    const first = open.find((item) => item.meaning === meaning)!;
    const items = open.filter(
      (item) => item.meaning === meaning && kindOf(item) === kindOf(first) && item.lot === first.lot,
    );
    // Whoever must approve later leaves the authorship to somebody else; what is checked, as the files of the cell claim.
    const signer = ({ who }: (typeof items)[number]) =>
      (meaning === 'checked' ? who.find((code) => code === 'P-QE') : who.find((code) => code !== 'P-QE')) ?? who[0]!;
    const person = signer(items[0]!);
    const proof = await services.accounts.prove(person, PASSWORD);
    const things = items.filter((item) => signer(item) === person).map(({ thing }) => thingFrom(thing));
    await services.signing.sign(proof, { things, meaning });
  }
}
