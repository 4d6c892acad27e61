import { makeLink } from '../../src/people/one-time-link.js';
import { UnseenLinks } from '../../src/people/unseen-links.js';

const NOW = new Date('2031-03-04T08:00:00Z');
const later = (hours: number) => new Date(NOW.getTime() + hours * 3_600_000);

it('keeps a link for each person, and shows it once and to the session that made it', () => {
  const links = new UnseenLinks();
  const [one, other] = [makeLink(NOW, 72), makeLink(NOW, 72)];
  links.keep('session', 'AB', one, NOW);
  links.keep('session', 'CD', other, NOW);
  expect(links.take('another', 'AB', NOW)).toBeUndefined();
  expect(links.take('session', 'AB', NOW)).toBe(one);
  expect(links.take('session', 'AB', NOW)).toBeUndefined();
  expect(links.take('session', 'CD', NOW)).toBe(other);
});

it('forgets what works no more', () => {
  const links = new UnseenLinks();
  links.keep('session', 'AB', makeLink(NOW, 72), NOW);
  expect(links.take('session', 'AB', later(72))).toBeUndefined();
  links.keep('session', 'AB', makeLink(NOW, 72), NOW);
  links.keep('session', 'CD', makeLink(later(73), 72), later(73));
  // Asked for a time at which it would still have worked.
  expect(links.take('session', 'AB', NOW)).toBeUndefined();
});
