import { RELEASE_STEPS } from '../../src/dossier/release-step.js';
import type { Role } from '../../src/dossier/statement.js';
import { Role as RoleNames } from '../../src/dossier/statement.js';
import { ACTS, actNamed, actOf, QUALIFIED_TO } from '../../src/people/acts.js';
import { type Authority, authorityFor } from '../../src/people/authority.js';
import { denialText, INDEPENDENCE, type IndependenceRule } from '../../src/report/phrases/authority.js';
import { Signing } from '../../src/signing/signing.js';

/**
 * The table of authority as the trade has it, written down here a second time. Sources: 21 CFR 11.10(d) (access to
 * authorised people), (f) (order of steps), (g) (authority at each act), (i) (trained people); ISO 13485:2016 4.2.4
 * (approval of documents by other than the author: common practice), 6.2 (competence), 7.4.3 (purchased product), 8.2.6
 * (who released is on record), 8.3 (who decided on nonconforming product is on record). Who does what in a cell of five,
 * the independence of whoever releases and the two signatures on a finding are common practice for closing out a lot.
 */
interface Row {
  readonly roles: readonly Role[];
  readonly independent: readonly IndependenceRule[];
  readonly trained: string | null;
  readonly source: string;
}

const TABLE: Readonly<Record<string, Row>> = {
  'sign a document as its author': {
    roles: ['process engineer', 'case designer', 'analyst', 'quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'common practice: whoever writes a document signs it; 21 CFR 11.50 (authorship)',
  },
  'approve a document': {
    roles: ['quality engineer'],
    independent: ['author'],
    trained: null,
    source: 'ISO 13485:2016 4.2.4; common practice: the author is not the approver',
  },
  'approve a legal route': {
    roles: ['regulatory'],
    independent: ['author'],
    trained: null,
    source:
      'Regulation (EU) 2017/745 article 15 (the person responsible for regulatory compliance); ISO 13485:2016 4.2.4',
  },
  'approve a qualification': {
    roles: ['quality engineer', 'releaser'],
    independent: ['self'],
    trained: null,
    source: 'ISO 13485:2016 6.2; 21 CFR 11.10(i)',
  },
  'review a capability statement': {
    roles: ['quality engineer'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.4',
  },
  'check a certificate': {
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    independent: ['transcriber'],
    trained: null,
    source: 'ISO 13485:2016 7.4.3; common practice: typed values are checked by another person',
  },
  'sign a statement': {
    roles: ['regulatory'],
    independent: [],
    trained: null,
    source: 'Regulation (EU) 2017/745 Annex XIII',
  },
  'check an acceptance': {
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'regulatory'],
    independent: ['enterer'],
    trained: null,
    source: 'ISO 13485:2016 7.2.2',
  },
  'accept or reject a receipt': {
    roles: ['quality engineer'],
    independent: ['transcriber'],
    trained: null,
    source: 'ISO 13485:2016 7.4.3',
  },
  'accept a stock part': {
    roles: ['quality engineer'],
    independent: ['preparer'],
    trained: null,
    source: 'ISO 13485:2016 7.4.3, 7.5.6; common practice: whoever made it ready does not accept it',
  },
  'accept a load': {
    roles: ['quality engineer'],
    independent: ['runner'],
    trained: null,
    source: 'ISO 13485:2016 7.5.5, 7.5.7, 8.2.6; common practice: whoever ran it does not accept it',
  },
  'sign results as performed': {
    roles: ['analyst', 'operator', 'process engineer', 'quality engineer'],
    independent: [],
    trained: null,
    source:
      'closing out a lot, step 4 (analyst); ISO 13485:2016 8.2.6. Training is asked of the method by a release check',
  },
  'check typed values': {
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer'],
    independent: ['typist'],
    trained: null,
    source: 'closing out a lot, step 4: second-person check of typed values',
  },
  'decide a finding': {
    roles: ['process engineer', 'quality engineer'],
    independent: ['decided'],
    trained: 'decisions on findings',
    source: 'closing out a lot, step 6 (process and quality, two signatures); ISO 13485:2016 8.3.1',
  },
  'decide a disposition': {
    roles: ['process engineer', 'quality engineer'],
    independent: ['decided'],
    trained: 'decisions on findings',
    source: 'closing out a lot, step 6 (process and quality, two signatures); ISO 13485:2016 8.3.1, 8.3.2',
  },
  'decide an impact': {
    roles: ['process engineer', 'quality engineer'],
    independent: ['decided'],
    trained: 'decisions on findings',
    source: 'an instrument found off, decided by process and quality; ISO 13485:2016 7.6',
  },
  'decide a build at risk': {
    roles: ['process engineer', 'quality engineer'],
    independent: ['decided'],
    trained: 'decisions on findings',
    source: 'material under way: allowed by process and quality before the chamber closes; ISO 13485:2016 7.4.3, 8.3.2',
  },
  'close a nonconformity': {
    roles: ['quality engineer'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.3.1, 8.3.4',
  },
  'close a corrective action': {
    roles: ['quality engineer'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.5.2',
  },
  'close a recall': {
    roles: ['quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.3.3',
  },
  'review a lot': {
    roles: ['quality engineer'],
    independent: ['maker', 'tester'],
    trained: 'lot review',
    source: 'closing out a lot, steps 5 and 8 (quality); 21 CFR 11.10(f), (i)',
  },
  'release units for sterilisation': {
    roles: ['releaser'],
    independent: ['maker', 'tester', 'decider', 'reviewer'],
    trained: 'lot release',
    source: 'ISO 13485:2016 8.2.6; closing out a lot, step 8: no build step, no test, none of its excursions decided',
  },
  'release units for distribution': {
    roles: ['releaser'],
    independent: ['maker', 'tester', 'decider', 'reviewer'],
    trained: 'lot release',
    source: 'ISO 13485:2016 8.2.6; closing out a lot, step 8: no build step, no test, none of its excursions decided',
  },
  'reject units': {
    roles: ['releaser', 'quality engineer'],
    independent: ['maker'],
    trained: null,
    source: 'ISO 13485:2016 8.3.1',
  },
  'place a hold': {
    roles: ['operator', 'analyst', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.3.1: nobody who sees a fault has to look for permission (common practice)',
  },
  'lift a hold': {
    roles: ['quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.3',
  },
  'place a legal hold': {
    roles: ['quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: '21 CFR 11.10(c); common practice',
  },
  'lift a legal hold': { roles: ['regulatory'], independent: [], trained: null, source: 'common practice' },
  'withdraw a document for cause': {
    roles: ['process engineer', 'quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 4.2.4 (no unintended use of obsolete documents)',
  },
  'revoke a release': {
    roles: ['releaser', 'quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 8.3.3 (after delivery)',
  },
  'look at changed verdicts': {
    roles: ['quality engineer'],
    independent: [],
    trained: null,
    source: 'ISO 13485:2016 4.1.6, 8.3.3 (software that counts otherwise, after release)',
  },
  'remove the bytes of evidence': {
    roles: ['quality engineer', 'regulatory'],
    independent: [],
    trained: null,
    source: 'common practice: two people, one of each role',
  },
  'take documents in': {
    roles: ['operator', 'analyst', 'case designer', 'process engineer', 'quality engineer', 'releaser', 'regulatory'],
    independent: [],
    trained: null,
    source: '21 CFR 11.10(g): authority checks; whoever keeps accounts or audits brings no facts',
  },
  'manage accounts, roles and deputies': {
    roles: ['administrator'],
    independent: [],
    trained: null,
    source: '21 CFR 11.10(d), 11.300',
  },
};

const QUALIFIED = Object.values(QUALIFIED_TO);
const person = (roles: readonly Role[], qualifiedFor: readonly string[] = QUALIFIED) => ({
  code: 'P-1',
  roles: roles.map((role) => ({ role, deputyFor: null })),
  qualifiedFor,
});

const whyNot = (authority: Authority): string | null => (authority.may ? null : denialText(authority.why));

it('has these acts and no others', () => {
  expect(ACTS.map(({ act }) => act).sort()).toEqual(Object.keys(TABLE).sort());
});

describe.each(Object.entries(TABLE))('%s', (name, { roles, independent, trained }) => {
  const act = actNamed(name);

  it('is open to these roles and to no other', () => {
    const may = RoleNames.options.filter((role) => authorityFor(act, person([role]), {}).may);
    expect(may).toEqual(RoleNames.options.filter((role) => roles.includes(role)));
    const refused = authorityFor(act, person([]), {});
    expect(refused).toEqual({ may: false, why: { code: 'role', facts: { act: name, roles: act.roles } } });
  });

  it('asks for the independence that the trade asks for, and says which was broken', () => {
    const rules = Object.keys(INDEPENDENCE) as IndependenceRule[];
    const broken = rules.filter((rule) => !authorityFor(act, person([roles[0]!]), { [rule]: ['P-1'] }).may);
    expect(broken.sort()).toEqual([...independent].sort());
    for (const rule of independent) {
      expect(whyNot(authorityFor(act, person([roles[0]!]), { [rule]: ['P-1'] }))).toBe(
        `independence: whoever is to ${name} ${INDEPENDENCE[rule]}, and P-1 did`,
      );
      expect(authorityFor(act, person([roles[0]!]), { [rule]: ['P-2'] }).may).toBe(true);
    }
  });

  it('asks for a signed qualification where it says so', () => {
    expect(act.qualification).toBe(trained);
    expect(authorityFor(act, person([roles[0]!], []), {}).may).toBe(trained === null);
    const others = QUALIFIED.filter((one) => one !== trained);
    if (trained === null) return;
    expect(whyNot(authorityFor(act, person([roles[0]!], others), {}))).toBe(
      `P-1 has no signed qualification for "${trained}" that covers this day`,
    );
  });

  it('is closed to an auditor, whatever else they hold, and to an administrator who holds nothing else', () => {
    expect(whyNot(authorityFor(act, person(['auditor', roles[0]!]), {}))).toBe(
      'an auditor reads everything and changes nothing',
    );
    if (name !== 'manage accounts, roles and deputies') {
      expect(authorityFor(act, person(['administrator']), {}).may).toBe(false);
    }
  });
});

describe('rules over the whole table', () => {
  it('lets an administrator give no quality approval: every act with a meaning is closed (21 CFR 11.10(g))', () => {
    const signed = ACTS.filter(({ meaning }) => meaning !== null);
    expect(signed.filter((act) => authorityFor(act, person(['administrator']), {}).may)).toEqual([]);
  });

  it('has one act for each meaning on each kind of thing', () => {
    const pairs = ACTS.flatMap(({ meaning, step, kinds }) =>
      meaning ? kinds.map((kind) => `${meaning} ${step} ${kind}`) : [],
    );
    expect(new Set(pairs).size).toBe(pairs.length);
    for (const step of RELEASE_STEPS) {
      expect(actOf('released', 'lot file', step)?.act).toBe(`release units for ${step}`);
    }
    expect(actOf('released', 'recipe')).toBeUndefined();
  });

  it('enforces the order of review and release (21 CFR 11.10(f))', () => {
    expect(actNamed('release units for sterilisation').order).toEqual(['reviewed', 'releasable']);
    expect(actNamed('release units for distribution').order).toEqual([
      'reviewed',
      'releasable',
      'earlier steps',
      'gates',
    ]);
    expect(actNamed('approve a document').order).toEqual(['authored']);
  });

  it('takes a finding from one person of each role, and tells which role is missing', () => {
    const decide = actNamed('decide a finding');
    expect(authorityFor(decide, person(['quality engineer']), {}, ['process engineer']).may).toBe(true);
    expect(whyNot(authorityFor(decide, person(['process engineer']), {}, ['process engineer']))).toBe(
      'a process engineer has signed this already; it needs a quality engineer',
    );
    const both = authorityFor(decide, person(['process engineer', 'quality engineer']), {}, ['process engineer']);
    expect(both).toEqual({ may: true, as: { role: 'quality engineer', deputyFor: null } });
    const twice = { decided: ['P-1'] };
    expect(
      authorityFor(decide, person(['process engineer', 'quality engineer']), twice, ['process engineer']).may,
    ).toBe(false);
  });

  it('lets people act in their own right before in the place of somebody else', () => {
    const roles = [
      { role: 'releaser' as const, deputyFor: 'P-9' },
      { role: 'releaser' as const, deputyFor: null },
    ];
    const release = actNamed('release units for distribution');
    expect(authorityFor(release, { code: 'P-1', roles, qualifiedFor: QUALIFIED }, {})).toMatchObject({
      as: { deputyFor: null },
    });
    expect(authorityFor(release, { code: 'P-1', roles: roles.slice(0, 1), qualifiedFor: QUALIFIED }, {})).toMatchObject(
      {
        as: { deputyFor: 'P-9' },
      },
    );
  });

  it('names what a signature rules its person out from, as the independence rules have it', () => {
    const releases = RELEASE_STEPS.map((step) => `release units for ${step}`);
    const ruledOut = (act: string, kind: string) => Signing.rulesOut(actNamed(act), kind);
    expect(ruledOut('sign a document as its author', 'recipe')).toEqual(['approve a document']);
    expect(ruledOut('sign a document as its author', 'route-permission')).toEqual(['approve a legal route']);
    expect(ruledOut('sign results as performed', 'result-set')).toEqual(['review a lot', ...releases]);
    expect(ruledOut('decide a finding', 'log finding')).toEqual(releases);
    expect(ruledOut('review a lot', 'lot file')).toEqual(releases);
    expect(ruledOut(releases[1]!, 'lot file')).toEqual([]);
  });

  it('knows no act by another name', () => {
    expect(() => actNamed('release everything')).toThrow('there is no act "release everything"');
  });
});
