import type { Scene } from '../base/scene.js';

/** A figure of a lot: the same scene on the page of the service and in the record. */
export interface LotFigure {
  readonly scene: Scene;
  /** Says what a person would see. */
  readonly alt: string;
  readonly caption: string;
}
