/** Words that have to stand on a label, with the clause that asks for them. Clauses are from memory: aids, no advice. */
export const LABEL_WORDS = {
  'custom-made': { words: 'Custom-made device', clause: 'Regulation (EU) 2017/745 Annex I 23.2 (p)' },
  investigational: {
    words: 'Exclusively for clinical investigation',
    clause: 'Regulation (EU) 2017/745 Annex I 23.2 (q)',
  },
  'investigational by federal law': {
    words: 'CAUTION—Investigational device. Limited by Federal (or United States) law to investigational use.',
    clause: '21 CFR 812.5 (a)',
  },
  'in-house': {
    words: 'Made and used in this health institution. Not to be given to another legal entity.',
    clause: 'Regulation (EU) 2017/745 article 5 (5); own words',
  },
  'medical device': { words: 'Medical device', clause: 'Regulation (EU) 2017/745 Annex I 23.2 (q)' },
  'single use': {
    words: 'Single use. Do not use again, do not sterilise again.',
    clause: 'Regulation (EU) 2017/745 Annex I 23.2 (n)',
  },
  'to be sterilised': {
    words: 'To be sterilised: not sterile until the sterile label is on the pack.',
    clause: 'Regulation (EU) 2017/745 Annex I 23.2 (l), 23.3',
  },
  'not sterile': { words: 'Not sterile', clause: 'Regulation (EU) 2017/745 Annex I 23.4 (l)' },
};

/** What a label has to say, without its words. */
export type LabelDuty = keyof typeof LABEL_WORDS;
