import { createHash } from 'node:crypto';
import { type CallHandler, type ExecutionContext, HttpStatus, Injectable, type NestInterceptor } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { Request, Response } from 'express';
import { type Observable, of } from 'rxjs';
import { programName } from '../base/settings.js';
import { Store } from '../store/store.js';
import { currentSession } from './identity.js';

/**
 * At a handler whose answer follows from what is recorded, from the minute, and from who asks, and from nothing else: programs
 * ask it again and again, and mostly nothing was recorded meanwhile.
 */
export const FollowsFromRecords = Reflector.createDecorator<void, true>({ transform: () => true });

/**
 * Tells whoever holds an answer already that it stands, before any of it is made: one read of the head of the audit trail
 * says so. Other answers are made, and are told to stand by their bytes.
 */
@Injectable()
export class Unchanged implements NestInterceptor {
  constructor(
    private readonly reflector: Reflector,
    private readonly store: Store,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    if (!this.reflector.get(FollowsFromRecords, context.getHandler())) return next.handle();
    const request = context.switchToHttp().getRequest<Request>();
    const response = context.switchToHttp().getResponse<Response>();
    response.setHeader('ETag', await this.tag(request.originalUrl));
    // A program may keep what it read, and asks each time whether it still stands. Pages are kept nowhere.
    response.setHeader('Cache-Control', 'private, no-cache');
    // Whoever names no answer holds none, and has to be told where there is nothing to answer of.
    if (request.headers['if-none-match']?.trim() === '*' || !request.fresh) return next.handle();
    response.status(HttpStatus.NOT_MODIFIED);
    return of(undefined);
  }

  private async tag(address: string): Promise<string> {
    const { size, head } = await this.store.read.ledger.lastHead();
    // What is in force is asked by the moment, and changes with nothing recorded.
    const minute = this.store.clock.now().toISOString().slice(0, 16);
    const of = [programName(), size, head, minute, currentSession()?.person, address];
    return `"${createHash('sha256').update(JSON.stringify(of)).digest('base64url')}"`;
  }
}
