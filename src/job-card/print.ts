import type { Draw, Print } from '../../shared/adapter.ts';
import type { Community } from '../../shared/community.ts';
import { jobCardPdf } from './job-card-pdf.ts';
import { returnCode } from './return-code.ts';

/** Job cards as PDF, each with the code that leads back to its thread. */
export const createPrint =
  ({
    draw,
    community,
    now,
  }: {
    readonly draw: Draw;
    readonly community: Pick<Community, 'name' | 'time_zone'>;
    readonly now: () => number;
  }): Print =>
  async ({ card, picture }, thread) => {
    const code = returnCode(thread);
    const pdf = await jobCardPdf({
      markdown: card,
      code,
      community: community.name,
      printed: now(),
      zone: community.time_zone,
      ...(picture ? { picture: (await draw(picture)).png } : {}),
    });
    return { pdf, name: `job-card-${code}.pdf` };
  };
