import { Injectable } from '@nestjs/common';
import { Actor } from '../people/actor.js';
import type { NamedSender } from './staged-jobs.js';

/** Who sends in the request that is being answered. */
@Injectable()
export class PageSender {
  constructor(private readonly actor: Actor) {}

  get now(): NamedSender {
    const { person, name, acting } = this.actor.session;
    return { person, name, acting, actor: this.actor.name };
  }
}
