# Public holidays of whole countries, one a line: country, tab, date. Weekends are left out, since
# a day that falls on one is kept on another day in some lists and on both in others.
# Belongs here: asking the other library. Does not belong here: comparing.
import sys

import holidays

COUNTRIES = dict(pair.split("=") for pair in sys.argv[3:])
FIRST, LAST = int(sys.argv[1]), int(sys.argv[2])

for name, code in COUNTRIES.items():
    country, _, part = code.partition("-")
    for day in sorted(holidays.country_holidays(country, subdiv=part or None, years=range(FIRST, LAST + 1))):
        if FIRST <= day.year <= LAST and day.weekday() < 5:
            print(f"{name}\t{day}")
