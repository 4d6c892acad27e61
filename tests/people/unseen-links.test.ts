import path from 'node:path';
import { makeLink } from '../../src/people/one-time-link.js';
import { UnseenLinks } from '../../src/people/unseen-links.js';
import { FolderSecret } from '../../src/store/folder-secret.js';
import { temporaryFolder } from '../support/cell.js';

const NOW = new Date('2031-03-04T08:00:00Z');
const secret = new FolderSecret(path.join(temporaryFolder('links'), 'data'));
const linkAt = (now: Date, hours: number) => makeLink(secret, 'AB', now, hours);
const later = (hours: number) => new Date(NOW.getTime() + hours * 3_600_000);

it('keeps a link for each person, and shows it once and to the session that made it', () => {
  const links = new UnseenLinks();
  const [one, other] = [linkAt(NOW, 72), linkAt(NOW, 72)];
  links.keep('session', 'AB', one, NOW);
  links.keep('session', 'CD', other, NOW);
  expect(links.take('another', 'AB', NOW)).toBeUndefined();
  expect(links.take('session', 'AB', NOW)).toBe(one);
  expect(links.take('session', 'AB', NOW)).toBeUndefined();
  expect(links.take('session', 'CD', NOW)).toBe(other);
});

it('forgets what works no more', () => {
  const links = new UnseenLinks();
  links.keep('session', 'AB', linkAt(NOW, 72), NOW);
  expect(links.take('session', 'AB', later(72))).toBeUndefined();
  links.keep('session', 'AB', linkAt(NOW, 72), NOW);
  links.keep('session', 'CD', linkAt(later(73), 72), later(73));
  // Asked for a time at which it would still have worked.
  expect(links.take('session', 'AB', NOW)).toBeUndefined();
});
