"""How Spanish pages write days and times: the day first, the month as a word in small letters, hours from 0 to 23."""

DATE_FORMAT = SHORT_DATE_FORMAT = "j b Y"
DATETIME_FORMAT = "j b Y, H:i"
SHORT_DATETIME_FORMAT = "D j b, H:i"
TIME_FORMAT = "H:i"
MONTH_DAY_FORMAT = "j b"
YEAR_MONTH_FORMAT = "F Y"
