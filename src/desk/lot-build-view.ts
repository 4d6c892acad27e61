import type { Facts } from '../dossier/facts.js';
import { timeText } from '../dossier/time-text.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { findingAnchor } from '../report/anchors.js';
import { figureView } from '../report/figure-view.js';
import { findingLines, mostSevere } from '../report/finding-lines.js';
import { gasRows } from '../report/gas-rows.js';
import { buildFigure } from '../report/log-figures.js';
import { ABSENT } from '../report/phrases/absent.js';
import { GAS_ROWS } from '../report/phrases/gas-rows.js';
import { LOG_PAGE } from '../report/phrases/log-page.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { SETTING_CHANGES } from '../report/phrases/setting-changes.js';
import { settingsBefore } from '../report/setting-changes.js';
import { zoneMapFigure } from '../report/zone-map-figure.js';

/** Findings told on the page of the build; the page of the log and the CSV have more. */
const MOST_FINDINGS = 12;

/** How a lot was built: its closures with their logs, what the logs show, and the implants by zone and layer. */
export function lotBuildView({ facts, assessment }: AssessedLot) {
  const { lines, others } = mostSevere(findingLines(facts), MOST_FINDINGS);
  const zones = zoneMapFigure(facts, assessment.units);
  return {
    builds: buildsView(facts),
    settingsTable: SETTING_CHANGES,
    settings: settingsBefore(facts),
    gasTable: GAS_ROWS,
    gas: gasRows(facts),
    findings: lines.map((finding) => ({ ...finding, anchor: findingAnchor(finding.id) })),
    otherFindings: others,
    zones: zones ? figureView(zones, LOT_PAGE.zones, 'zones') : null,
    serials: assessment.units.map(({ serial }) => serial),
  };
}

function buildsView(facts: Facts) {
  return facts.lot.body.builds.map((build) => {
    const logs = facts.dossier.logs.filter((item) => item.build === build.build);
    const figure = buildFigure(facts, build);
    return {
      ...build,
      machineTitle: facts.machines.get(build.machine)?.body.title ?? build.machine,
      closed: timeText(build.closedAt),
      opened: timeText(build.openedAt),
      logFiles: logs.map((log) => ({
        ...log,
        first: timeText(log.firstAt ?? ABSENT.none),
        last: timeText(log.lastAt ?? ABSENT.none),
      })),
      figure: figure ? figureView(figure, LOG_PAGE.wholeBuild(build.build), `build-${build.build}`) : null,
    };
  });
}
