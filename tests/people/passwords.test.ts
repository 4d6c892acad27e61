import { checkPassword, fitsPassword, hashPassword, LONGEST_PASSWORD } from '../../src/people/passwords.js';

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

describe('a stored password', () => {
  it('is an argon2id hash of 19 MiB and two passes with a salt of its own (OWASP Password Storage Cheat Sheet; ASVS 2.4.1, 2.4.2)', async () => {
    const [one, two] = await Promise.all([hashPassword('seven quiet lanterns'), hashPassword('seven quiet lanterns')]);
    expect(one).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$[A-Za-z0-9+/]{22}\$/);
    expect(one).not.toBe(two);
  });

  it('fits itself and nothing else, to the last character (ASVS 2.1.3: nothing is cut off)', async () => {
    const password = 'a'.repeat(LONGEST_PASSWORD - 1);
    const hash = await hashPassword(`${password}b`);
    expect(await fitsPassword(hash, `${password}b`)).toBe(true);
    expect(await fitsPassword(hash, `${password}c`)).toBe(false);
    expect(await fitsPassword(hash, `${password}b `)).toBe(false);
  });

  it('fits in any Unicode form of the same text (SP 800-63B, 5.1.1.2: NFKC)', async () => {
    const hash = await hashPassword('Zo\u00eb and her turtles');
    expect(await fitsPassword(hash, 'Zoe\u0308 and her turtles')).toBe(true);
  });

  it('fits nobody who has none, and takes as much work to say so', async () => {
    const hash = await hashPassword('seven quiet lanterns');
    // Processor time, which other programs on the machine do not lengthen.
    const workUs = async (stored: string | undefined) => {
      const before = process.cpuUsage();
      for (let round = 0; round < 9; round++) expect(await fitsPassword(stored, 'not that password')).toBe(false);
      const { user, system } = process.cpuUsage(before);
      return user + system;
    };
    // Both compute one hash a time: without that, the second would take a thousandth of the first.
    expect(await workUs(undefined)).toBeGreaterThan((await workUs(hash)) / 10);
  });
});
