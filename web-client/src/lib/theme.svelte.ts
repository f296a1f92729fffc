// The chosen theme and the units of the eye: what this device remembers about looks.
// Belongs here: light, dark, sunlight, and °C or °F. Does not belong here: the colours
// themselves (theme.css).

export type Theme = 'device' | 'light' | 'dark' | 'sunlight';
const THEME = 'countersign.theme';
const DEGREES = 'countersign.degrees';

function kept(name: string): string | null {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

function keep(name: string, value: string): void {
  try {
    localStorage.setItem(name, value);
  } catch {
    return;
  }
}

class Looks {
  theme = $state<Theme>((kept(THEME) as Theme | null) ?? 'device');
  degrees = $state<'C' | 'F'>(kept(DEGREES) === 'C' ? 'C' : 'F');

  apply(): void {
    if (this.theme === 'device') delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = this.theme;
  }

  choose(theme: Theme): void {
    this.theme = theme;
    keep(THEME, theme);
    this.apply();
  }

  chooseDegrees(degrees: 'C' | 'F'): void {
    this.degrees = degrees;
    keep(DEGREES, degrees);
  }
}

export const looks = new Looks();
