import { randomBytes, X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import { readTimeStamp, stampedDigest, timeStampRequest, tokenIn } from '../../src/ledger/time-stamp.js';
import { TimeAuthority } from '../support/time-authority.js';

// Not quick: OpenSSL plays the authority.

const TEXT = 'origin\n7\nroot\n';
const authority = new TimeAuthority();
const trusted = [new X509Certificate(fs.readFileSync(authority.root))];
const nonce = Buffer.from([0x8f, ...randomBytes(7)]);
const answer = authority.reply(timeStampRequest(stampedDigest(TEXT), nonce));
const token = tokenIn(answer);

it('is what OpenSSL answers to the request, and what OpenSSL takes for the text', () => {
  const stamp = readTimeStamp(token, TEXT, { trusted, nonce });
  expect(stamp).toMatchObject({
    authority: 'Invented Authority',
    certificateSha256: expect.stringMatching(/^[0-9a-f]{64}$/),
  });
  expect(Math.abs(Date.now() - Date.parse(stamp.at))).toBeLessThan(400 * 24 * 3_600_000);
  expect(readTimeStamp(token, TEXT)).toEqual(stamp);
  expect([authority.accepts(token, TEXT), authority.accepts(token, `${TEXT}x`)]).toEqual([true, false]);
});

it('is none of another text, of another request, or by an authority that nobody trusts', () => {
  expect(() => readTimeStamp(token, `${TEXT}x`, { trusted })).toThrow(/it is of something else/);
  expect(() => readTimeStamp(token, TEXT, { nonce: randomBytes(8) })).toThrow(/it answers another request/);
  const others = [new X509Certificate(fs.readFileSync(new TimeAuthority().root))];
  expect(() => readTimeStamp(token, TEXT, { trusted: others })).toThrow(/leads to none of those that are trusted/);
});

it('does not hold when one byte of it was changed', () => {
  for (let place = 0; place < token.length; place += 7) {
    const changed = Buffer.from(token);
    changed[place]! ^= 1;
    // What is left out of the signature is the list of certificates that nobody needs, and what names the kinds of parts.
    const read = () => readTimeStamp(changed, TEXT, { trusted, nonce });
    try {
      expect(read()).toEqual(readTimeStamp(token, TEXT));
    } catch (error) {
      expect(error).toMatchObject({ code: expect.stringMatching(/^(ALTERED|BAD_INPUT)$/) });
    }
  }
});

it('is not made by a certificate for something else', () => {
  const other = new TimeAuthority('other');
  expect(() => other.reply(timeStampRequest(stampedDigest(TEXT), nonce))).toThrow();
});

it('is refused in words where the authority grants none, or answers with something else', () => {
  const refused = Buffer.from('30073005020102a000', 'hex');
  expect(() => tokenIn(refused)).toThrow(/grants no time stamp \(status 2\)/);
  for (const bytes of [Buffer.alloc(0), Buffer.from('<html>'), answer.subarray(0, 100), token]) {
    expect(() => tokenIn(bytes)).toThrow(/no answer of a time stamp authority/);
  }
});
