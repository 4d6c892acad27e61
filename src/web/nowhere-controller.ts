import { All, Controller, NotFoundException } from '@nestjs/common';
import { Access } from './access.js';

/** Answers what no other route does. It is asked last, so that strangers do not learn which addresses exist. */
@Controller()
export class NowhereController {
  @Access('signed in')
  @All('{*path}')
  nothing(): never {
    throw new NotFoundException();
  }
}
