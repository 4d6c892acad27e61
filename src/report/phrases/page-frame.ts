import { ENTRY_FORMS } from './entry-forms.js';
import { PAGE_TITLES } from './page-titles.js';

/** A word that leads to a page. */
export interface PageLink {
  readonly href: string;
  readonly text: string;
}

/** The words at the head of every page. */
export const HEAD_WORDS: readonly PageLink[] = [
  { href: '/', text: PAGE_TITLES.today },
  { href: '/lots', text: PAGE_TITLES.lots },
  { href: '/materials', text: PAGE_TITLES.materials },
  { href: '/families', text: PAGE_TITLES.families },
  { href: '/find', text: PAGE_TITLES.find },
];

/** Everything else, at the foot. */
export const FOOT_WORDS: readonly PageLink[] = [
  { href: '/enter', text: ENTRY_FORMS.list },
  { href: '/intake', text: PAGE_TITLES.intake },
  { href: '/jobs', text: PAGE_TITLES.jobs },
  { href: '/people', text: PAGE_TITLES.people },
  { href: '/authority', text: PAGE_TITLES.authority },
  { href: '/audit', text: PAGE_TITLES.audit },
  { href: '/protection', text: PAGE_TITLES.protection },
  { href: '/calculations', text: PAGE_TITLES.calculations },
  { href: '/api', text: PAGE_TITLES.api },
];
