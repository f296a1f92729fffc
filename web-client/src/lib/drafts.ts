// Half-typed forms, so that an error, a reload or a dead battery loses nothing.
// Belongs here: keeping and giving back a form's fields on this device. Does not belong
// here: what is ready to be sent (outbox.svelte.ts).

const PREFIX = 'countersign.draft.';

/** What was typed before under this name, or the empty form. */
export function draftRead<T extends object>(name: string, empty: T): T {
  try {
    const kept = localStorage.getItem(PREFIX + name);
    return kept ? { ...empty, ...(JSON.parse(kept) as Partial<T>) } : empty;
  } catch {
    return empty;
  }
}

/** Keeps it. A full or forbidden storage loses the draft, never the page. */
export function draftKeep(name: string, value: object): void {
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify(value));
  } catch {
    return;
  }
}

export function draftDrop(name: string): void {
  try {
    localStorage.removeItem(PREFIX + name);
  } catch {
    return;
  }
}
