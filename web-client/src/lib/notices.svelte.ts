// Notices of this device: a page that is open, in front or not, says that somebody is asked.
// Belongs here: asking for leave once, and showing a notice from the page's own live stream.
// Does not belong here: push to a closed page. That goes through the browser maker's service,
// which this one does without; a closed page is reached by mail.
import { live } from './live.svelte';
import { session } from './session.svelte';

const words: Record<string, string> = {
  second_read: 'A second read is wanted from you',
  urgent_job: 'An urgent job has nobody',
  approval: 'An approval waits for you',
  worse: 'A customer says that it got worse',
};

type Leave = 'granted' | 'denied' | 'default' | 'never';

class Notices {
  leave = $state<Leave>('Notification' in globalThis ? Notification.permission : 'never');

  /** Asks the person; browsers want that in answer to a press. */
  async ask(): Promise<void> {
    if (this.leave === 'default') this.leave = await Notification.requestPermission();
  }

  /** Listens for as long as somebody is signed in; use inside $effect. */
  listen(): () => void {
    return live.onChange(({ topic, ref_id, body }) => {
      if (topic !== 'asked' || ref_id !== session.me?.id) return;
      const { job_id, kind } = body as { job_id?: string; kind?: string };
      void this.show(words[kind ?? ''] ?? 'You are asked', `/jobs/${job_id ?? ''}`, `${kind}/${job_id}`);
    });
  }

  private async show(title: string, path: string, tag: string): Promise<void> {
    // Whoever looks at the page sees it there.
    if (this.leave !== 'granted' || document.visibilityState === 'visible') return;
    const options = { body: 'Open Countersign to see which one.', tag, icon: '/mark.svg', data: { path } };
    try {
      const notice = new Notification(title, options);
      notice.onclick = () => {
        window.focus();
        location.assign(path);
      };
    } catch {
      // A phone lets only the page's worker show one.
      const worker = await navigator.serviceWorker?.getRegistration();
      await worker?.showNotification(title, options);
    }
  }
}

export const notices = new Notices();
