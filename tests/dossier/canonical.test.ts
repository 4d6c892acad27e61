import fc from 'fast-check';
import {
  canonicalJson,
  digestOf,
  isCanonicalJson,
  parseCanonicalJson,
  sha256Hex,
} from '../../src/dossier/canonical.js';

const doubleOf = (hex: string): number => Buffer.from(hex, 'hex').readDoubleBE();

describe('canonical JSON', () => {
  // RFC 8785 §3.2.2, the example of how literals, numbers and strings are written.
  it('writes the primitive values of the RFC as the RFC does', () => {
    const input = String.raw`{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }`;
    expect(canonicalJson(JSON.parse(input))).toBe(
      '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],' +
        String.raw`"string":"€$\u000f\nA'B\"\\\\\"/"}`,
    );
  });

  // RFC 8785 §3.2.3, the example of how names are sorted.
  it('sorts names by UTF-16 code units', () => {
    const input = {
      '\u20ac': 'Euro Sign',
      '\r': 'Carriage Return',
      '\ufb33': 'Hebrew Letter Dalet With Dagesh',
      '1': 'One',
      '\ud83d\ude00': 'Emoji: Grinning Face',
      '\u0080': 'Control',
      '\u00f6': 'Latin Small Letter O With Diaeresis',
    };
    expect(Object.values(JSON.parse(canonicalJson(input).replace('"1"', '"_1"')) as object)).toEqual([
      'Carriage Return',
      'One',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ]);
  });

  // Input and output, as bytes, of the files that the authors of RFC 8785 publish beside it: testdata/input and testdata/outhex
  // of the public repository cyberphone/json-canonicalization at 19d51d7; the hexadecimal of `values` is that of RFC 8785 §3.2.4.
  it.each([
    {
      file: 'arrays',
      input: `[ 56, { "d": true, "10": null, "1": [ ] } ]`,
      hex: '5b35362c7b2231223a5b5d2c223130223a6e756c6c2c2264223a747275657d5d',
    },
    {
      file: 'french',
      input: `{ "peach": "This sorting order", "péché": "is wrong according to French", "pêche": "but canonicalization MUST", "sin":   "ignore locale" }`,
      hex: [
        '7b227065616368223a225468697320736f7274696e67206f72646572222c2270c3a96368c3a9223a2269732077726f6e67206163',
        '636f7264696e6720746f204672656e6368222c2270c3aa636865223a226275742063616e6f6e6963616c697a6174696f6e204d55',
        '5354222c2273696e223a2269676e6f7265206c6f63616c65227d',
      ].join(''),
    },
    {
      file: 'structures',
      input: String.raw`{ "1": {"f": {"f": "hi","F": 5} ,"\n": 56.0}, "10": { }, "": "empty", "a": { }, "111": [ {"e": "yes","E": "no" } ], "A": { } }`,
      hex: [
        '7b22223a22656d707479222c2231223a7b225c6e223a35362c2266223a7b2246223a352c2266223a226869227d7d2c223130223a',
        '7b7d2c22313131223a5b7b2245223a226e6f222c2265223a22796573227d5d2c2241223a7b7d2c2261223a7b7d7d',
      ].join(''),
    },
    {
      file: 'unicode',
      input: String.raw`{ "Unnormalized Unicode":"A\u030a" }`,
      hex: '7b22556e6e6f726d616c697a656420556e69636f6465223a2241cc8a227d',
    },
    {
      file: 'values',
      input: String.raw`{ "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001], "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false] }`,
      hex: [
        '7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c226e756d62657273223a5b3333333333333333332e33',
        '3333333333332c31652b33302c342e352c302e3030322c31652d32375d2c22737472696e67223a22e282ac245c75303030665c6e',
        '4127425c225c5c5c5c5c222f227d',
      ].join(''),
    },
    {
      file: 'weird',
      input: String.raw`{ "\u20ac": "Euro Sign", "\r": "Carriage Return", "\u000a": "Newline", "1": "One", "\u0080": "Control\u007f", "\ud83d\ude02": "Smiley", "\u00f6": "Latin Small Letter O With Diaeresis", "\ufb33": "Hebrew Letter Dalet With Dagesh", "</script>": "Browser Challenge" }`,
      hex: [
        '7b225c6e223a224e65776c696e65222c225c72223a2243617272696167652052657475726e222c2231223a224f6e65222c223c2f',
        '7363726970743e223a2242726f77736572204368616c6c656e6765222c22c280223a22436f6e74726f6c7f222c22c3b6223a224c',
        '6174696e20536d616c6c204c6574746572204f205769746820446961657265736973222c22e282ac223a224575726f205369676e',
        '222c22f09f9882223a22536d696c6579222c22efacb3223a22486562726577204c65747465722044616c65742057697468204461',
        '67657368227d',
      ].join(''),
    },
  ])('gives the bytes that are published for $file', ({ input, hex }) => {
    expect(Buffer.from(canonicalJson(JSON.parse(input)), 'utf8').toString('hex')).toBe(hex);
  });

  // RFC 8785 Appendix B, the table of IEEE 754 doubles and their texts.
  it.each([
    ['0000000000000000', '0'],
    ['8000000000000000', '0'],
    ['0000000000000001', '5e-324'],
    ['8000000000000001', '-5e-324'],
    ['7fefffffffffffff', '1.7976931348623157e+308'],
    ['ffefffffffffffff', '-1.7976931348623157e+308'],
    ['4340000000000000', '9007199254740992'],
    ['c340000000000000', '-9007199254740992'],
    ['4430000000000000', '295147905179352830000'],
    ['44b52d02c7e14af5', '9.999999999999997e+22'],
    ['44b52d02c7e14af6', '1e+23'],
    ['44b52d02c7e14af7', '1.0000000000000001e+23'],
    ['444b1ae4d6e2ef4e', '999999999999999700000'],
    ['444b1ae4d6e2ef4f', '999999999999999900000'],
    ['444b1ae4d6e2ef50', '1e+21'],
    ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
    ['3eb0c6f7a0b5ed8d', '0.000001'],
    ['41b3de4355555553', '333333333.3333332'],
    ['41b3de4355555554', '333333333.33333325'],
    ['41b3de4355555555', '333333333.3333333'],
    ['41b3de4355555556', '333333333.3333334'],
    ['41b3de4355555557', '333333333.33333343'],
    ['becbf647612f3696', '-0.0000033333333333333333'],
    ['43143ff3c1cb0959', '1424953923781206.2'],
  ])('writes the double %s as %s', (bits, text) => {
    expect(canonicalJson(doubleOf(bits))).toBe(text);
  });

  it.each([
    ['NaN (RFC 8785 Appendix B)', { a: doubleOf('7fffffffffffffff') }, '$.a'],
    ['infinity (RFC 8785 Appendix B)', [1, doubleOf('7ff0000000000000')], '$[1]'],
    ['undefined', { a: { b: undefined } }, '$.a.b'],
    ['a hole in an array', new Array(1), '$[0]'],
    ['a lone surrogate in a value', { a: '\ud83d' }, '$.a'],
    ['a lone surrogate in a name', { '\ude00': 1 }, '$.'],
    ['a big integer', 1n, '$'],
    ['a date', { at: new Date(0) }, '$.at'],
    ['a map', new Map(), '$'],
    ['a function', { f: () => 1 }, '$.f'],
  ])('refuses %s and names the place', (_what, value, place) => {
    expect(() => canonicalJson(value)).toThrow(place);
  });

  it('does not depend on the order in which names were given, and reads back to the same value', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const text = canonicalJson(value);
        expect(canonicalJson(parseCanonicalJson(text))).toBe(text);
        expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(value)));
      }),
    );
    expect(canonicalJson({ b: 1, a: 2 })).toBe(canonicalJson({ a: 2, b: 1 }));
  });

  it('keeps a name that JavaScript treats as special', () => {
    expect(canonicalJson(JSON.parse('{"__proto__":1,"a":2}'))).toBe('{"__proto__":1,"a":2}');
  });

  it.each([
    '{"b":1,"a":2}',
    '{"a":1.0}',
    '{ "a":1}',
    '{"a":1,"a":1}',
    '{"a":"\\u0041"}',
    '-0',
    '{"a":1}\n',
    '"\\ud83d"',
  ])('refuses to read %s as canonical', (text) => {
    expect(() => parseCanonicalJson(text)).toThrow(/canonical/);
  });

  it('refuses to read what is no JSON', () => {
    expect(() => parseCanonicalJson('{a:1}')).toThrow('not JSON');
  });
});

describe('digests', () => {
  // FIPS 180-2 Appendix B.1: the message "abc".
  it('gives SHA-256 of text and bytes alike', () => {
    const expected = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';
    expect(sha256Hex('abc')).toBe(expected);
    expect(sha256Hex(Buffer.from('abc'))).toBe(expected);
  });

  it('takes the digest of a value over its canonical text', () => {
    expect(digestOf({ b: 'ü', a: 1 })).toBe(sha256Hex(Buffer.from('{"a":1,"b":"ü"}', 'utf8')));
  });
});

describe('whether a text is canonical, as an audit asks of each entry', () => {
  it.each([
    ['{"a":[1,{"b":null}],"c":"€"}', true],
    ['{"10":1,"9":2}', true],
    ['{"9":2,"10":1}', false],
    ['{"b":1,"a":2}', false],
    ['[{"b":1,"a":2}]', false],
    ['{"a":1,"a":1}', false],
    ['{"a": 1}', false],
    ['{"a":1.0}', false],
    ['{"a":"\\u0041"}', false],
    ['{"a":"\\ud800"}', false],
    ['"\\ud800"', false],
    ['"a\\\\ud800"', true],
    ['{"\\ud83d\\ude00":1}', false],
    ['{"\u{1f600}":1,"\ufb33":2}', true],
  ])('%s: %s', (text, expected) => {
    expect(isCanonicalJson(text, JSON.parse(text))).toBe(expected);
  });

  it('is what writing the value again says', () => {
    fc.assert(
      fc.property(fc.json(), fc.boolean(), (json, isWritten) => {
        const value: unknown = JSON.parse(json);
        let written: string | undefined;
        try {
          written = canonicalJson(value);
        } catch {}
        const text = isWritten && written !== undefined ? written : json;
        expect(isCanonicalJson(text, value)).toBe(text === written);
      }),
    );
  });
});
