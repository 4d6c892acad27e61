import { DuckDBInstance } from '@duckdb/node-api';
import type { ScanPlan } from '../../src/process-logs/plan.js';

/**
 * The rules of a log scan written in SQL, with window functions over whole tables, and run by DuckDB: a general-purpose
 * database that shares no code and no way of thinking with the scanner. For logs without quotes, in UTC milliseconds.
 */

export interface SqlRun {
  readonly rule: string;
  readonly level: string;
  readonly channel: string;
  readonly direction: string | null;
  readonly startMs: number;
  readonly endMs: number;
  readonly durationMs: number;
  readonly rows: number;
  readonly worst: number | null;
  readonly integralS: number | null;
  readonly lineFrom: number;
  readonly lineTo: number;
  readonly zones: string;
  readonly layers: string;
}

export interface SqlSummary {
  readonly key: string;
  readonly n: number;
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  readonly sd: number | null;
  readonly timeWeightedMean: number | null;
  readonly observedMs: number;
  readonly outsideMs: number;
}

export interface SqlScan {
  readonly rejected: readonly { readonly line: number; readonly code: string }[];
  readonly rows: number;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly blank: number;
  readonly notANumber: number;
  readonly repeatedTimes: number;
  readonly gaps: readonly { readonly startMs: number; readonly endMs: number }[];
  readonly runs: readonly SqlRun[];
  readonly summaries: readonly SqlSummary[];
  readonly breaks: readonly { readonly startMs: number; readonly endMs: number }[];
}

/** Every line with its number, its cells, and what is wrong with it before its time is looked at. */
const LINES = `
create table lines as
with numbered as (
  select unnest(string_split(content, chr(10))) as text, generate_subscripts(string_split(content, chr(10)), 1) as line
  from source
), cells as (
  select line, string_split(text, ',') as cell from numbered
  where line > 1 and text <> '' and not starts_with(text, 'ucum')
)
select line, cell, case
    when len(cell) <> 4 + (select count(*) from channels) then 'number of fields'
    when not regexp_full_match(cell[1], '\\d{4}-\\d\\d-\\d\\dT\\d\\d:\\d\\d:\\d\\d\\.\\d{3}Z') then 'timestamp'
    when not regexp_full_match(cell[2], '\\d{0,7}') then 'layer'
    when exists (select 1 from unnest(cell[5:]) as c(v) where not regexp_full_match(v, '(-?\\d+(\\.\\d+)?|NaN)?'))
      then 'number'
  end as wrong
from cells;

create table timed as
select line, cell, wrong, epoch_ms(strptime(cell[1], '%Y-%m-%dT%H:%M:%S.%gZ')) as ms from lines where wrong is null;

create table ordered as
select *, max(ms) over (order by line rows between unbounded preceding and 1 preceding) as latest from timed;

create table rejected as
select line, wrong as code from lines where wrong is not null
union all select line, 'time going back' from ordered where ms < latest;

create table log as
with used as (select * from ordered where latest is null or ms >= latest),
placed as (
  select row_number() over (order by line) as rn, line, cell, ms,
    cast(nullif(cell[2], '') as integer) as layer, cell[3] as zone, cell[4] as step,
    lead(ms) over (order by line) - ms as ahead, ms - lag(ms) over (order by line) as behind
  from used
)
select rn, line, cell, ms, layer, zone, step, behind > (select gap_ms from plan) as after_gap, ahead,
  case when ahead is null or ahead > (select gap_ms from plan) then (select nominal_ms from plan) else ahead end as for_ms
from placed;

create table samples as
select rn, line, ms, for_ms, coalesce(after_gap, false) as after_gap, layer, zone, step, c.name as channel,
  case when cell[4 + c.place] in ('', 'NaN') then null else cast(cell[4 + c.place] as double) end as value,
  cell[4 + c.place] as written
from log cross join channels c;
`;

/** Each sample beside each limit that holds there; of several with equal terms the tighter one. */
const JUDGED = `
create table rules as select distinct channel, level, side, minimum_ms, integral_limit from windows;

create table judged as
with held as (
  select s.rn, r.channel, r.level, r.side, r.minimum_ms, r.integral_limit,
    case when r.side = 'high' then min(w.edge) else max(w.edge) end as edge
  from samples s
  join windows w on w.channel = s.channel and
    (w.zone is null or (w.zone = s.zone and w.step = s.step and s.layer between w.layer_from and w.layer_to))
  join rules r on r.channel = w.channel and r.level = w.level and r.side = w.side
    and r.minimum_ms is not distinct from w.minimum_ms and r.integral_limit is not distinct from w.integral_limit
  group by s.rn, r.channel, r.level, r.side, r.minimum_ms, r.integral_limit
)
select s.*, r.level, r.side, r.minimum_ms, r.integral_limit, h.edge,
  case when r.side = 'high' then s.value - h.edge else h.edge - s.value end as excess
from samples s join rules r on r.channel = s.channel
left join held h on h.rn = s.rn and h.channel = s.channel and h.level = r.level and h.side = r.side
  and h.minimum_ms is not distinct from r.minimum_ms and h.integral_limit is not distinct from r.integral_limit;
`;

const RUNS = `
create table excursions as
with flagged as (
  select *, coalesce(excess > 0, false) as beyond, lag(coalesce(excess > 0, false)) over one as before
  from judged window one as (partition by channel, level, side, minimum_ms, integral_limit order by rn)
), numbered as (
  select *, sum(case when beyond and (before is not true or after_gap) then 1 else 0 end)
    over (partition by channel, level, side, minimum_ms, integral_limit order by rn) as island
  from flagged
)
select 'excursion' as rule, level, channel, side as direction, min(ms) as start_ms, max(ms + for_ms) as end_ms,
  sum(for_ms) as duration_ms, count(*) as n, first(value order by excess desc, rn) as worst,
  sum(excess * for_ms) / 1000 as integral_s, min(line) as line_from, max(line) as line_to,
  string_agg(distinct zone, ' ' order by zone) as zones, min(layer) || '-' || max(layer) as layers
from numbered where beyond
group by channel, level, side, minimum_ms, integral_limit, island
having (minimum_ms is null and integral_limit is null)
  or sum(for_ms) >= minimum_ms or sum(excess * for_ms) / 1000 >= integral_limit;

create table watched as
select distinct rn, channel from judged where edge is not null;

create table missing as
with flagged as (
  select s.*, s.value is null and w.rn is not null as lacks from samples s
  left join watched w on w.rn = s.rn and w.channel = s.channel
), lagged as (
  select *, lag(lacks) over (partition by channel order by rn) as before from flagged
), numbered as (
  select *, sum(case when lacks and (before is not true or after_gap) then 1 else 0 end)
    over (partition by channel order by rn) as island
  from lagged
)
select 'missing values' as rule, case when sum(for_ms) > (select gap_ms from plan) then 'action' else 'alert' end as level,
  channel, null as direction, min(ms) as start_ms, max(ms + for_ms) as end_ms, sum(for_ms) as duration_ms,
  count(*) as n, null::double as worst, null::double as integral_s, min(line) as line_from, max(line) as line_to,
  string_agg(distinct zone, ' ' order by zone) as zones, min(layer) || '-' || max(layer) as layers
from numbered where lacks group by channel, island;

create table gaps as
select ms + for_ms as start_ms, ms + ahead as end_ms from log where ahead > (select gap_ms from plan);
`;

const BREAKS = `
with pieces as (
  select start_ms, end_ms from excursions where channel in (select name from inert)
  union all select start_ms, end_ms from missing where channel in (select name from inert)
  union all select start_ms, end_ms from gaps
), seen as (
  select *, max(end_ms) over (order by start_ms, end_ms rows between unbounded preceding and 1 preceding) as reached
  from pieces
), numbered as (
  select *, sum(case when reached is null or start_ms > reached + (select join_ms from plan) then 1 else 0 end)
    over (order by start_ms, end_ms rows unbounded preceding) as island
  from seen
)
select min(start_ms) as "startMs", max(end_ms) as "endMs" from numbered group by island order by 1`;

const SUMMARY = `
with outside as (select distinct rn, channel from judged where excess > 0)
select concat_ws('|', layer, zone, step, s.channel) as key, count(*) as n, min(value) as min, max(value) as max,
  avg(value) as mean, stddev_samp(value) as sd,
  case when sum(for_ms) > 0 then sum(value * for_ms) / sum(for_ms) end as "timeWeightedMean",
  sum(for_ms) as "observedMs", coalesce(sum(for_ms) filter (o.rn is not null), 0) as "outsideMs"
from samples s left join outside o on o.rn = s.rn and o.channel = s.channel
where value is not null group by layer, zone, step, s.channel`;

/** Scans a log by SQL. @param text with a header line and plain cells. */
export async function scanBySql(text: string, plan: ScanPlan): Promise<SqlScan> {
  const instance = await DuckDBInstance.create(':memory:', { threads: '1' });
  const connection = await instance.connect();
  const rowsOf = async <Row>(sql: string): Promise<Row[]> =>
    (await connection.runAndReadAll(sql)).getRowObjects().map(asNumbers) as Row[];
  try {
    await connection.run('create table source (content varchar)');
    await connection.run('insert into source values ($1)', [text]);
    const columns = text.slice(0, text.indexOf('\n')).split(',').slice(4);
    await connection.run(tablesOf(plan, columns));
    await connection.run(LINES);
    await connection.run(JUDGED);
    await connection.run(RUNS);
    const [totals] = await rowsOf<Pick<SqlScan, 'rows' | 'firstMs' | 'lastMs' | 'repeatedTimes'>>(
      `select count(*) as "rows", min(ms) as "firstMs", max(ms) as "lastMs",
        count(*) filter (ahead = 0) as "repeatedTimes" from log`,
    );
    const [cells] = await rowsOf<Pick<SqlScan, 'blank' | 'notANumber'>>(
      `select count(*) filter (written = '') as blank, count(*) filter (written = 'NaN') as "notANumber" from samples`,
    );
    return {
      ...totals!,
      ...cells!,
      rejected: await rowsOf('select line, code from rejected order by line'),
      gaps: await rowsOf('select start_ms as "startMs", end_ms as "endMs" from gaps order by 1'),
      runs: await rowsOf(
        `select rule, level, channel, direction, start_ms as "startMs", end_ms as "endMs", duration_ms as "durationMs",
          n as "rows", worst, integral_s as "integralS", line_from as "lineFrom", line_to as "lineTo", zones, layers
        from (select * from excursions union all select * from missing)`,
      ),
      summaries: await rowsOf(SUMMARY),
      breaks: await rowsOf(BREAKS),
    };
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
}

/** Plan and windows as tables; names of a test's plan hold no quotes. */
function tablesOf(plan: ScanPlan, columns: readonly string[]): string {
  const text = (value: string | null) => (value === null ? 'null' : `'${value}'`);
  const number = (value: number | null) => (value === null ? 'null' : String(value));
  const windows = plan.windows.flatMap(({ channel, level, low, high, minimumMs, integralLimit, scope }) => {
    const place = scope === 'closure' ? { zone: null, step: null, layerFrom: null, layerTo: null } : scope;
    return [
      { side: 'high', edge: high },
      { side: 'low', edge: low },
    ]
      .filter(({ edge }) => edge !== null)
      .map(
        ({ side, edge }) =>
          `(${text(channel)}, ${text(level)}, ${text(side)}, ${number(edge)}, ${number(minimumMs)}, ` +
          `${number(integralLimit)}, ${text(place.zone)}, ${text(place.step)}, ${number(place.layerFrom)}, ${number(place.layerTo)})`,
      );
  });
  const inert = plan.inert.channels.map((name) => `(${text(name)})`);
  return `
    create table plan as select ${plan.gapLimitMs} as gap_ms, ${plan.nominalPeriodMs} as nominal_ms, ${plan.inert.joinMs} as join_ms;
    create table channels (name varchar, place integer);
    insert into channels values ${columns.map((name, index) => `(${text(name)}, ${index + 1})`).join(', ')};
    create table inert (name varchar);
    insert into inert values ${inert.join(', ')};
    create table windows (channel varchar, level varchar, side varchar, edge double, minimum_ms double,
      integral_limit double, zone varchar, step varchar, layer_from integer, layer_to integer);
    insert into windows values ${windows.join(', ')};`;
}

/** Whole numbers come as big integers. */
function asNumbers(row: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(row).map(([name, value]) => [name, typeof value === 'bigint' ? Number(value) : value]),
  );
}
