"""How English pages write days and times: the day first, the month as a word, hours from 0 to 23."""

DATE_FORMAT = SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j M Y, H:i"
SHORT_DATETIME_FORMAT = "D j M, H:i"
TIME_FORMAT = "H:i"
MONTH_DAY_FORMAT = "j M"
YEAR_MONTH_FORMAT = "F Y"
