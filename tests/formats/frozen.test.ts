import fs from 'node:fs';
import { breaches } from './breaches.js';
import { formatsNow } from './formats-now.js';
import { frozenFormats, whyNotToFreeze } from './frozen-formats.js';

const { version } = JSON.parse(fs.readFileSync('package.json', 'utf8')) as { version: string };

describe('what is stored or leaves the house', () => {
  // A breach before 1.0.0 is meant when the form is better for it: npm run formats -- --freeze. Later the next format of
  // the kind is the way (docs/architecture.md, how formats grow).
  it('keeps every format that was frozen, but for what grew by the rules', () => {
    const frozen = frozenFormats();
    expect(Object.keys(frozen).length).toBeGreaterThan(70);
    expect(breaches(frozen, formatsNow())).toEqual([]);
  });

  it('is frozen as a whole from 1.0.0 on', () => {
    const [frozen, now] = [frozenFormats(), formatsNow()];
    const missing = Object.keys(now).filter((name) => frozen[name] === undefined);
    expect(Number.parseInt(version, 10) >= 1 ? missing : []).toEqual([]);
  });

  it('says no word for people, which may change', () => {
    expect(JSON.stringify(formatsNow())).not.toContain('"description"');
  });
});

describe('freezing again', () => {
  it('is free before 1.0.0, and refuses every breach after it', () => {
    expect(whyNotToFreeze('0.9.0', ['x: removed'])).toBeUndefined();
    expect(whyNotToFreeze('1.0.0', [])).toBeUndefined();
    expect(whyNotToFreeze('1.0.0', ['x: removed'])).toContain('x: removed');
    expect(whyNotToFreeze('12.3.4', ['x: removed'])).toContain('may not break');
  });
});
