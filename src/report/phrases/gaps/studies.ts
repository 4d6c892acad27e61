import { type GapPhrase, listed } from './gap-phrase.js';

/** What shows that the design does what is asked of it. */
export const STUDY_GAPS = {
  'need-not-validated': {
    title: 'Need never validated',
    asks: 'Does a study with its criterion met validate each user need?',
    says: ({ studies }) =>
      `no study that met its criterion validates it: ${listed(studies, 'on record are', 'none names it')}`,
    remedy: 'Take in the validation study with its result.',
  },
  'input-not-verified': {
    title: 'Input without verification',
    asks: 'Does a study with its criterion met verify each input, or an output that answers it?',
    says: ({ studies }) =>
      `no study that met its criterion verifies it or an output of it: ${listed(studies, 'on record are', 'none names it')}`,
    remedy: 'Take in the verification study with its result.',
  },
  'study-superseded': {
    title: 'Study on a revision that is not current',
    asks: 'Was each study done on the current revision of what it shows?',
    says: ({ revision, latest, withdrawn }) =>
      withdrawn === 'yes'
        ? `it was done on revision ${revision}, which was withdrawn for cause`
        : `it was done on revision ${revision}, and revision ${latest} is current`,
    remedy: 'Say in a further revision of the study why it still holds, or do it again.',
  },
  'study-not-met': {
    title: 'Study whose criterion was not met',
    asks: 'Did each study meet its criterion?',
    says: () => 'its criterion was not met',
    remedy: 'Change the design, or do a further study; then revise or withdraw this one.',
  },
  'protocol-after-data': {
    title: 'Protocol approved after its data',
    asks: 'Was each protocol approved before the first test?',
    says: ({ approved, from }) => `the protocol was approved on ${approved}, and testing began on ${from}`,
    remedy: 'Do the study again by an approved protocol, or answer why its data count.',
  },
  'rationale-thin': {
    title: 'Rationale of half a line',
    asks: 'Does each study say why its sample is large enough and speaks for all others?',
    says: ({ rationale }) => `all that is said of the size of the sample is "${rationale}"`,
    remedy: 'Write why so many were tested, and why these speak for all others: more than a line.',
  },
  'study-without-evidence': {
    title: 'Result without evidence',
    asks: 'Does each result rest on lots on record, or on a report that is kept?',
    says: () => 'it has a result, and neither lots or parts on record nor the file of its report',
    remedy: 'Name the lots and parts that were tested, or add the report.',
  },
  'criterion-not-measured': {
    title: 'Criterion never measured',
    asks: 'Are values of the criterion on record for the lots of each study?',
    says: ({ characteristic, lots }) => `no value of ${characteristic} is on record for lot ${lots}`,
    remedy: 'Take in the results, or correct the characteristic or the lots.',
  },
  'claim-not-held': {
    title: 'Criterion that its values do not meet',
    asks: 'Do the values on record meet the criterion, wherever a study says that it was met?',
    says: ({ characteristic, method }) =>
      `it says that its criterion was met; the values of ${characteristic} on record do not meet it, by ${method}`,
    remedy: 'Correct the result of the study, or the values, each with its reason.',
  },
  'claim-undecided': {
    title: 'Criterion that its values do not decide',
    asks: 'Do the values on record decide each criterion that a study calls met?',
    says: ({ why, method }) => `by ${method} it cannot be decided: ${why}`,
    remedy: 'Take in every value that was tested, or say in the study how else it is seen.',
  },
  'study-other-family': {
    title: 'Study on a lot of another family',
    asks: 'Does each study rest on lots of its own family?',
    says: ({ lot, family }) => `lot ${lot} is of family ${family}, of the same alloy`,
    remedy: 'Answer why the other family speaks for this one, or test lots of this one.',
  },
  'study-other-alloy': {
    title: 'Study on another alloy',
    asks: 'Does each study rest on parts of the alloy of its family?',
    says: ({ lot, family, alloy }) => `lot ${lot} of family ${family} is of ${alloy}`,
    remedy: 'Test parts of the alloy of this family.',
  },
  'study-not-sterilised': {
    title: 'Study on parts that were not sterilised',
    asks: 'Were the parts sterilised of each study on what reaches patients, where the family is sterile?',
    says: ({ purpose }) => `the family is sterile, and this study (${purpose}) tested parts that were not sterilised`,
    remedy: 'Test sterilised parts, or answer why sterilisation changes nothing here.',
  },
  'study-not-aged': {
    title: 'Shelf life shown on parts that were not aged',
    asks: 'Were the parts of each study on shelf life aged?',
    says: () => 'it speaks on shelf life, and says nothing of ageing',
    remedy: 'Say how the parts were aged, or test aged parts.',
  },
  'worst-case-without-study': {
    title: 'Worst case without study',
    asks: 'Did a study that met its criterion test the worst case of each bound of the design envelope?',
    says: ({ parameter, named }) =>
      `no study that met its criterion tested the worst case of "${parameter}": ${listed(named, 'named are', 'none is named')}`,
    remedy: 'Test the worst case, and name value and study in the envelope.',
  },
} satisfies Record<string, GapPhrase>;
