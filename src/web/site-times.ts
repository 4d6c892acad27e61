import type { SiteZone } from '../base/clock.js';

/** A time as pages tell it, and before it what is left as it is: what people type or take elsewhere, and tags. */
const TIME =
  /<textarea[\s>][\s\S]*?<\/textarea>|<pre[\s>][\s\S]*?<\/pre>|<[^>]*>|(\d{4}-\d\d-\d\d) (\d\d:\d\d(?::\d\d)?) UTC/g;

/**
 * Shows the times of a page as the clocks of the place do, each with its offset. Records and files tell them in UTC, the
 * same everywhere; so do the pages where the clocks go by UTC.
 */
export function siteTimes(html: string, zone: SiteZone): string {
  if (zone.name === 'UTC') return html;
  return html.replaceAll(TIME, (text: string, day?: string, time?: string) => {
    if (day === undefined || time === undefined) return text;
    const moment = `${day}T${time.length === 5 ? `${time}:00` : time}Z`;
    const local = zone.local(moment);
    return local === undefined ? text : `${local.replace('T', ' ')} ${zone.offset(moment)}`;
  });
}
