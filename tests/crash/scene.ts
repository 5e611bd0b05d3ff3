import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../../src/core/settings.ts';
import { following } from '../conversations/thread.ts';
import { radio } from '../core/example-flow.ts';

/** The appliance, and steps in a fixed order in place of the plan: a wait early, then looks, work inside, and a part. */
export const flow: Flow = radio;
export const settings: Settings = following(
  'drain',
  'dial-lamp',
  'settings',
  'knob-feel',
  'lead-look',
  'reseat',
  'speaker-ohms',
  'new-speaker',
  'rail',
  'new-fuse',
);
