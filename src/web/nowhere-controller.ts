import { All, Controller, NotFoundException } from '@nestjs/common';
import { Access, NoCases } from './access.js';

/** Answers what no other route does. It is asked last, so that strangers do not learn which addresses exist. */
@Controller()
export class NowhereController {
  @Access('signed in')
  @NoCases()
  @All('{*path}')
  nothing(): never {
    throw new NotFoundException();
  }
}
