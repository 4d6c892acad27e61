import type { z } from 'zod';
import type { LegalRoute } from './fields.js';
import type { LawOfCase } from './laws.js';

/** What a law asks on one of its routes. The marks say what was read second-hand and what stands from memory. */
export type Need =
  | 'udi'
  | 'body-certificate'
  | 'statement'
  | 'envelope'
  | 'study-approval'
  | 'one-legal-entity'
  | 'conditions'
  | 'card-decision'
  | 'declaration'
  | 'permission'
  | 'label-words';

export interface RouteNeed {
  readonly need: Need;
  /** Place in the law. */
  readonly source: string;
}

type Route = z.infer<typeof LegalRoute>;

const need = (what: Need, source: string): RouteNeed => ({ need: what, source });

const EU_UDI = need('udi', 'Regulation (EU) 2017/745 article 27, Annex VI');
const EU_BODY = need('body-certificate', 'Regulation (EU) 2017/745 article 52(8)');
const EU_CARD = need('card-decision', 'Regulation (EU) 2017/745 article 18');
const US_UDI = need('udi', '21 CFR 801.20');
const ENVELOPE = need('envelope', 'IMDRF/PMD WG/N49, N58, N74 (from memory)');
const CLEARANCE = need('permission', '21 CFR 807.81, 814 (from memory)');

/** One table of law and route (docs/validation.md). A law that it does not know asks for a permission. */
const NEEDS: Readonly<Record<string, Readonly<Partial<Record<Route, readonly RouteNeed[]>>>>> = {
  EU: {
    market: [EU_UDI, EU_BODY, EU_CARD],
    'patient-matched': [EU_UDI, EU_BODY, EU_CARD, ENVELOPE],
    'custom-made': [
      need('statement', 'Regulation (EU) 2017/745 Annex XIII, 1 (from memory)'),
      EU_BODY,
      EU_CARD,
      need('label-words', 'Regulation (EU) 2017/745 Annex I, 23.2 (from memory)'),
    ],
    investigational: [
      need('study-approval', 'Regulation (EU) 2017/745 articles 62 to 82 (from memory)'),
      need('label-words', 'Regulation (EU) 2017/745 Annex I, 23.2 (from memory)'),
    ],
    'in-house': [
      need('one-legal-entity', 'Regulation (EU) 2017/745 article 5(5)(a) (from memory)'),
      need('declaration', 'Regulation (EU) 2017/745 article 5(5)(f) (from memory)'),
    ],
  },
  US: {
    market: [US_UDI, CLEARANCE],
    'patient-matched': [US_UDI, CLEARANCE, ENVELOPE],
    'custom-made': [need('conditions', '21 USC 360j(b); 21 CFR 812.3(b)')],
    investigational: [
      need('study-approval', '21 CFR 812 (from memory)'),
      need('label-words', '21 CFR 812.5 (from memory)'),
    ],
  },
};

const OF_OTHER_LAWS = [need('permission', 'the law of the place')];

/** Every law and route of the table. */
export const LAWS_KNOWN: readonly LawOfCase[] = Object.entries(NEEDS).flatMap(([law, routes]) =>
  Object.keys(routes).map((route) => ({ law, route: route as Route })),
);

/** What a law asks on a route; undefined where the law has no such route. */
export const needsOf = ({ law, route }: LawOfCase): readonly RouteNeed[] | undefined =>
  Object.hasOwn(NEEDS, law) ? NEEDS[law]![route] : OF_OTHER_LAWS;

export const isNeeded = (what: Need, laws: readonly LawOfCase[]): boolean =>
  laws.some((law) => needsOf(law)?.some(({ need: asked }) => asked === what));
