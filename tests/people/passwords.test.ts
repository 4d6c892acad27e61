import type { PasswordLock } from '../../src/ledger/password-lock.js';
import { checkPassword, LONGEST_PASSWORD, lockWith, openedWith } from '../../src/people/passwords.js';

const FACTS = { person: 'TO-7', name: 'Tomas Okoro' };
const check = (password: string) => () => checkPassword(password, FACTS);

/** OWASP Application Security Verification Standard 4.0.3, chapter 2.1 and 2.4; NIST SP 800-63B, 5.1.1.2. */
describe('a new password', () => {
  it.each([
    ['of exactly twelve characters (ASVS 2.1.1)', 'vexed-otter3'],
    ['of 64 characters and more (2.1.2)', `${'long words make it easy '.repeat(2)}and this one is really long`],
    ['of 128 characters (2.1.2)', 'abcdefgh'.repeat(16)],
    ['of any printable characters, letters of other scripts and pictures too (2.1.4)', 'Ünïcödé 猫と犬 🐢🐢'],
    ['of small letters alone: no kind of character is asked for (2.1.9)', 'seven quiet lanterns'],
    ['with blanks at its ends (2.1.3)', '  seven lanterns  '],
  ])('may be one %s', (_what, password) => {
    expect(check(password)).not.toThrow();
  });

  it.each([
    ['of eleven characters (ASVS 2.1.1)', 'vexed-otter', 'at least 12 characters'],
    ['of 129 characters (2.1.2)', 'x1y2z3w4'.repeat(16).concat('v'), 'at most 128 characters'],
    ['that many people use (2.1.7)', 'Password1234!', 'many people use'],
    ['that many people use, twice (2.1.7)', 'passwordpassword', 'many people use'],
    ['that is a row on the keyboard (2.1.7)', 'qwertyuiop123', 'many people use'],
    ['that is a sequence (SP 800-63B)', '1234567890123', 'a row of digits or letters'],
    ['that is a sequence downwards (SP 800-63B)', 'nmlkjihgfedcba', 'a row of digits or letters'],
    ['that repeats itself (SP 800-63B)', 'abababababababab', 'a few characters'],
    ['that is the identifier (SP 800-63B)', 'TO-7TO-7TO-7', 'a few characters'],
    ['that is the name with a year (SP 800-63B)', 'TomasOkoro2031', 'beside the identifier'],
    ['that is the name of the program (SP 800-63B)', 'Lotwright-2031', 'beside the identifier'],
  ])('is not one %s', (_what, password, says) => {
    expect(check(password)).toThrow(says);
  });

  it('is never repeated in what is said of it', () => {
    const secret = 'TomasOkoro99';
    expect(() => checkPassword(secret, FACTS)).toThrow(
      expect.not.objectContaining({ message: expect.stringContaining(secret) }),
    );
  });
});

describe('the lock of a password', () => {
  const opens = async (lock: PasswordLock | undefined, password: string) =>
    (await openedWith(lock, password)) !== undefined;
  const cheap = async (password: string) => (await lockWith(password, { memoryKib: 8, passes: 1 })).lock;

  it('is argon2id of 64 MiB and three passes with a salt of its own (RFC 9106, section 4; ASVS 2.4.1, 2.4.2)', async () => {
    const [one, two] = await Promise.all([lockWith('seven quiet lanterns'), lockWith('seven quiet lanterns')]);
    expect(one.lock).toMatchObject({ derivation: 'argon2id', memoryKib: 65_536, passes: 3 });
    expect(Buffer.from(one.lock.salt, 'base64')).toHaveLength(16);
    expect([two.lock.salt, two.lock.check]).not.toEqual([one.lock.salt, one.lock.check]);
    expect(await openedWith(one.lock, 'seven quiet lanterns')).toEqual(one.secret);
    expect(JSON.stringify(one.lock)).not.toContain(one.secret.toString('base64').slice(0, 20));
  });

  it('opens with it and with nothing else, to the last character (ASVS 2.1.3: nothing is cut off)', async () => {
    const password = 'a'.repeat(LONGEST_PASSWORD - 1);
    const lock = await cheap(`${password}b`);
    expect(await opens(lock, `${password}b`)).toBe(true);
    expect(await opens(lock, `${password}c`)).toBe(false);
    expect(await opens(lock, `${password}b `)).toBe(false);
  });

  it('opens in any Unicode form of the same text (SP 800-63B, 5.1.1.2: NFKC)', async () => {
    expect(await opens(await cheap('Zo\u00eb and her turtles'), 'Zoe\u0308 and her turtles')).toBe(true);
  });

  it('opens for nobody who has none, and takes as much work to say so', async () => {
    const { lock } = await lockWith('seven quiet lanterns');
    // Processor time, which other programs on the machine do not lengthen.
    const workUs = async (stored: PasswordLock | undefined) => {
      const before = process.cpuUsage();
      for (let round = 0; round < 5; round++) expect(await opens(stored, 'not that password')).toBe(false);
      const { user, system } = process.cpuUsage(before);
      return user + system;
    };
    // Both derive once a time: without that, the second would take a thousandth of the first.
    expect(await workUs(undefined)).toBeGreaterThan((await workUs(lock)) / 10);
  });
});
