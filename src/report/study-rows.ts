import { isTurn } from '../assessment/family/coincidences.js';
import type { StudyInput } from '../assessment/family/study-input.js';
import type { FamilyStudy } from '../assessment/family/study-result.js';
import { ableText } from './phrases/able.js';
import { boundsText, normalityText } from './phrases/capability.js';
import {
  apartCountText,
  apartText,
  changeText,
  coincidencesText,
  coincidenceText,
  countedText,
  cpkText,
  falseRunText,
  gaugeText,
  leftOutText,
  meanText,
  moreSumText,
  nonconformingText,
  outcomeText,
  percentileText,
  planText,
  ppkBoundText,
  remlText,
  ruleText,
  STUDY_ROWS,
  sideText,
  studyLimitsText,
  studyNotes,
  toleranceText,
  trialText,
} from './phrases/family-study.js';

/** What page, command and paper say of a study, line by line. */
export function studyRows(input: StudyInput, study: FamilyStudy): (readonly [string, string])[] {
  const { plan, approval, characteristic: item, window } = input;
  const { index } = study;
  const { code, name, at } = approval;
  const rows: (readonly [string, string])[] = [
    [STUDY_ROWS.says, ableText(index)],
    [STUDY_ROWS.notes, studyNotes(study).join(' ')],
    [STUDY_ROWS.more, moreSumText(index)],
    [STUDY_ROWS.plan, planText({ ...plan, approvedBy: { code, name }, approvedAt: at })],
    [STUDY_ROWS.window, `${window.from} to ${window.to}`],
    [STUDY_ROWS.values, countedText(study)],
    [STUDY_ROWS.mean, meanText(index, item.ucum)],
    [STUDY_ROWS.spread, remlText(index, item.ucum)],
    [STUDY_ROWS.normality, normalityText(index, STUDY_ROWS.tested)],
    [STUDY_ROWS.why, `${plan.distribution.name}: ${plan.distribution.why}`],
    [STUDY_ROWS.ppk, `${ppkBoundText(index)}${index.ppk === null ? '' : sideText(item)}`],
    [STUDY_ROWS.bounds, boundsText(index)],
    [STUDY_ROWS.cpk, cpkText(index)],
    [STUDY_ROWS.percentile, percentileText(index)],
    [STUDY_ROWS.tolerance, toleranceText(index, item.ucum)],
    [STUDY_ROWS.limits, studyLimitsText(study, item.ucum)],
    [STUDY_ROWS.falseSignals, falseRunText(study, plan.runRules)],
    [STUDY_ROWS.gauge, gaugeText(plan, index)],
    [STUDY_ROWS.nonconforming, nonconformingText(study)],
    [STUDY_ROWS.apart, apartCountText(study)],
    [STUDY_ROWS.coincidences, coincidencesText(study)],
  ];
  return rows.filter(([, says]) => says !== '');
}

/** Signals, trials, changes, groups and builds, each with its words. */
export function studyTables({ chart, trials, listed, split, was, coincidences }: FamilyStudy) {
  return {
    signals: chart.signals.map((signal) => ({
      ...signal,
      says: ruleText(signal.rule),
      outcomeSays: outcomeText(signal),
    })),
    was: was.map((one) => ({ ...one, says: ruleText(one.rule) })),
    trials: trials.map((trial) => ({ ...trial, says: trialText(trial) })),
    changes: chart.changes
      .filter((change) => !isTurn(change, chart.points))
      .map((change) => ({
        ...{ lot: chart.points[change.before]!.lot, says: changeText(change), what: change.what, to: change.to },
      })),
    apart: chart.apart.map((one) => ({ ...one, says: apartText(one) })),
    coincidences: coincidences.ranked.map((one) => ({
      ...{ lot: chart.points[one.before]!.lot, change: changeText(one), says: coincidenceText(one) },
    })),
    split: split.map(({ factor, name, index }) => ({
      factor,
      name,
      n: index.n,
      builds: index.builds,
      says: ableText(index),
    })),
    listed: listed.map((row) => ({ ...row, says: leftOutText(row.leftOut) })),
  };
}
