import type { Mark, Scene } from '../../src/base/scene.js';
import { textMetric } from '../../src/pdf/shaping.js';

export function textsOf(scene: Scene): string[] {
  return scene.marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
}

export function marksOf<K extends Mark['kind']>(scene: Scene, kind: K): Extract<Mark, { kind: K }>[] {
  return scene.marks.filter((mark): mark is Extract<Mark, { kind: K }> => mark.kind === kind);
}

interface Extent {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export function extentOf(mark: Mark): Extent {
  switch (mark.kind) {
    case 'rect':
      return { left: mark.x, right: mark.x + mark.w, top: mark.y, bottom: mark.y + mark.h };
    case 'line':
      return box([mark.x1, mark.x2], [mark.y1, mark.y2]);
    case 'circle':
      return { left: mark.x - mark.r, right: mark.x + mark.r, top: mark.y - mark.r, bottom: mark.y + mark.r };
    case 'path': {
      const numbers = (mark.d.match(/-?[\d.]+/g) ?? []).map(Number);
      return box(
        numbers.filter((_, index) => index % 2 === 0),
        numbers.filter((_, index) => index % 2 === 1),
      );
    }
    case 'text': {
      const width = textMetric(mark.text, mark.size, mark.bold);
      const back = mark.anchor === 'start' ? 0 : mark.anchor === 'end' ? width : width / 2;
      return mark.turned
        ? { left: mark.x - mark.size, right: mark.x, top: mark.y + back - width, bottom: mark.y + back }
        : { left: mark.x - back, right: mark.x - back + width, top: mark.y - mark.size * 0.8, bottom: mark.y };
    }
  }
}

function box(xs: readonly number[], ys: readonly number[]): Extent {
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

/** Marks that reach out of the scene by more than half a point; none in a sound scene. */
export function marksOutside(scene: Scene): Mark[] {
  return scene.marks.filter((mark) => {
    const { left, right, top, bottom } = extentOf(mark);
    return left < -0.5 || top < -0.5 || right > scene.width + 0.5 || bottom > scene.height + 0.5;
  });
}
