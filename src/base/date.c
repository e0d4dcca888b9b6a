#include "base/date.h"

#include <stdio.h>
#include <string.h>

static int32_t
days_of(int32_t year, int32_t month)
{
	static const int32_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
	bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);

	return days[month - 1] + (month == 2 && leap);
}

bool
date_parse(const char *text, int32_t *out)
{
	static const char form[] = "dddd-dd-dd";
	int32_t value = 0, year, month, day;

	if (strlen(text) != sizeof form - 1)
		return false;
	for (size_t i = 0; form[i] != '\0'; i++) {
		bool digit = text[i] >= '0' && text[i] <= '9';

		if (form[i] == '-' ? text[i] != '-' : !digit)
			return false;
		if (digit)
			value = 10 * value + (text[i] - '0');
	}
	year = value / 10000;
	month = value / 100 % 100;
	day = value % 100;
	if (year < 1 || month < 1 || month > 12 || day < 1 || day > days_of(year, month))
		return false;
	*out = value;
	return true;
}

void
date_add_text(struct text *out, int32_t date)
{
	char shown[32];

	snprintf(shown, sizeof shown, "%04d-%02d-%02d", (int)(date / 10000),
	         (int)(date / 100 % 100), (int)(date % 100));
	text_adds(out, shown);
}
