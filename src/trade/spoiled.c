#include "trade/spoiled.h"

#include "base/text.h"

#include <stdbool.h>
#include <string.h>

#define RIGHT                                                                                      \
	": make its column text and put the part in again, or say in --names what it stands for"

static const char is_exponent[] = "is a number in scientific notation, as a spreadsheet makes of "
                                  "a part" RIGHT;
static const char is_decimal[] =
    "is a number with decimals, as a spreadsheet makes of a part" RIGHT;
static const char is_error[] =
    "is an error value of a spreadsheet: mend its formula, or put the part in again";
static const char is_date[] = "is a date, as a spreadsheet makes of a part" RIGHT;

/* Letter case aside. */
static const char *const months[] = {
    "jan",  "feb",  "mar",       "apr",      "may",  "jun",       "jul",       "aug", "sep",
    "sept", "oct",  "nov",       "dec",      "mrz",  "m\u00E4r",  "m\u00E4rz", "mai", "juni",
    "juli", "okt",  "dez",       "janv",     "fevr", "f\u00E9vr", "mars",      "avr", "juin",
    "juil", "aout", "ao\u00FBt", "d\u00E9c", "ene",  "abr",       "ago",       "dic", "gen",
    "giu",  "lug",  "ott",       "mrt",      "mei",  "fev"};
/* Those that are an ordinary word as well: not with a blank before or behind them. */
static const char *const months_or_words[] = {"mag", "set", "out"};

/* A part in pieces: runs of digits, and what is between them. */
struct scan {
	const char *at;
};

/* Past a run of digits; its length and value (of the first 4 digits). */
static size_t
take_digits(struct scan *scan, unsigned *value)
{
	size_t count = 0;

	*value = 0;
	for (; *scan->at >= '0' && *scan->at <= '9'; scan->at++)
		if (++count <= 4)
			*value = *value * 10 + (unsigned)(*scan->at - '0');
	return count;
}

static bool
take(struct scan *scan, char c)
{
	if (*scan->at != c)
		return false;
	scan->at++;
	return true;
}

static bool
has_exponent(const char *part)
{
	struct scan scan = {part};
	unsigned value;

	if (*scan.at == '-' || *scan.at == '+')
		scan.at++;
	if (take_digits(&scan, &value) == 0)
		return false;
	if ((take(&scan, '.') || take(&scan, ',')) && take_digits(&scan, &value) == 0)
		return false;
	return (take(&scan, 'E') || take(&scan, 'e')) && (take(&scan, '+') || take(&scan, '-')) &&
	       take_digits(&scan, &value) > 0 && *scan.at == '\0';
}

/* Digits, perhaps in groups of three, a decimal mark, zeros. */
static bool
has_zero_decimals(const char *part)
{
	size_t length = strlen(part), whole;
	char mark;

	while (length > 0 && part[length - 1] == '0')
		length--;
	if (length < 2 || part[length] == '\0' ||
	    (part[length - 1] != '.' && part[length - 1] != ','))
		return false;
	mark = part[length - 1] == '.' ? ',' : '.';
	whole = strcspn(part, ",.");
	if (whole == 0 || strspn(part, "0123456789") < whole || (part[0] == '0' && whole > 1))
		return false;
	for (part += whole, length -= whole; length > 1; part += 4, length -= 4)
		if (*part != mark || length < 5 || strspn(part + 1, "0123456789") != 3)
			return false;
	return true;
}

/* Nothing, or a time of day. */
static bool
ends_as_date(struct scan *scan)
{
	unsigned value;

	if (*scan->at == '\0')
		return true;
	if ((!take(scan, ' ') && !take(scan, 'T')) || take_digits(scan, &value) == 0 || value > 24)
		return false;
	while (take(scan, ':') || take(scan, '.'))
		if (take_digits(scan, &value) == 0)
			return false;
	return *scan->at == '\0';
}

static bool
is_day(size_t digits, unsigned value)
{
	return digits >= 1 && digits <= 2 && value >= 1 && value <= 31;
}

static bool
is_month(size_t digits, unsigned value)
{
	return is_day(digits, value) && value <= 12;
}

/* "2026-03-01", "2026/3/1", "01.03.2026", "3/1/26": three numbers. */
static bool
is_numeric_date(const char *part)
{
	struct scan scan = {part};
	unsigned first, second, third;
	size_t a, b, c;
	char mark;

	a = take_digits(&scan, &first);
	mark = *scan.at;
	if (a == 0 || (mark != '-' && mark != '/' && mark != '.'))
		return false;
	scan.at++;
	b = take_digits(&scan, &second);
	if (!take(&scan, mark))
		return false;
	c = take_digits(&scan, &third);
	if (!ends_as_date(&scan))
		return false;
	if (a == 4)
		return is_month(b, second) && is_day(c, third);
	if (c != 4 && (c != 2 || mark == '-'))
		return false;
	return is_day(a, first) && is_day(b, second) && (first <= 12 || second <= 12);
}

static bool
is_one_of(const char *word, size_t length, const char *const *words, size_t count)
{
	char copy[8];

	if (length >= sizeof copy)
		return false;
	memcpy(copy, word, length);
	copy[length] = '\0';
	for (size_t i = 0; i < count; i++)
		if (text_equal_fold(copy, words[i]))
			return true;
	return false;
}

/* Past the name of a month, and a full stop behind it; *word: it may be another word as well. */
static bool
take_month(struct scan *scan, bool *word)
{
	size_t length = 0;

	while (((unsigned char)scan->at[length] | 0x20) >= 'a')
		length++;
	*word = is_one_of(scan->at, length, months_or_words,
	                  sizeof months_or_words / sizeof *months_or_words);
	if (!*word && !is_one_of(scan->at, length, months, sizeof months / sizeof *months))
		return false;
	scan->at += length;
	take(scan, '.');
	return true;
}

/* Past a hyphen, slash or blank; *blank: it is that. */
static bool
take_mark(struct scan *scan, bool *blank)
{
	*blank = *scan->at == ' ';
	return take(scan, '-') || take(scan, '/') || take(scan, ' ');
}

/* "Mar-01", "Mrz 26", "Mar-2026", "Mar-1". */
static bool
is_month_year(const char *part)
{
	struct scan scan = {part};
	bool word, blank;
	unsigned value;
	size_t digits;

	if (!take_month(&scan, &word) || !take_mark(&scan, &blank) || (blank && word))
		return false;
	digits = take_digits(&scan, &value);
	return (digits == 1 || digits == 2 || digits == 4) && *scan.at == '\0';
}

/* "1-Mar", "01-Mar-26", "01. Mrz", "1 Mar 2026". */
static bool
is_day_month(const char *part)
{
	struct scan scan = {part};
	bool word, blank, dot;
	unsigned value;
	size_t digits = take_digits(&scan, &value);

	if (!is_day(digits, value))
		return false;
	dot = take(&scan, '.');
	blank = dot;
	if (!take_mark(&scan, &blank) && !dot)
		return false;
	if (!take_month(&scan, &word) || (blank && word && !dot))
		return false;
	if (*scan.at == '\0')
		return true;
	if (!take_mark(&scan, &blank))
		return false;
	digits = take_digits(&scan, &value);
	return (digits == 2 || digits == 4) && *scan.at == '\0';
}

/* "#N/A", "#REF!", "#NAME?", "#WERT!", "Err:508"; "###": a number too wide for its column. */
static bool
is_error_value(const char *part)
{
	size_t length = strlen(part), name = strcspn(part, ":");
	bool capitals = length > 2;

	if (*part != '#')
		return part[name] == ':' &&
		       is_one_of(part, name, (const char *[]){"err", "fehler"}, 2) &&
		       strspn(part + name + 1, "0123456789") == length - name - 1 &&
		       length > name + 1;
	if (strspn(part, "#") == length)
		return length > 2;
	if (is_one_of(part + 1, length - 1, (const char *[]){"N/A", "N/D", "NV", "I/T"}, 4))
		return true;
	for (size_t i = 1; capitals && i + 1 < length; i++)
		capitals = (part[i] >= 'A' && part[i] <= 'Z') || part[i] == '/' || part[i] == '0' ||
		           (unsigned char)part[i] >= 0x80;
	return capitals && (part[length - 1] == '!' || part[length - 1] == '?');
}

const char *
spoiled_part(const char *part)
{
	if (strpbrk(part, "+-./, #:") == NULL)
		return NULL;
	if (is_error_value(part))
		return is_error;
	if (has_exponent(part))
		return is_exponent;
	if (has_zero_decimals(part))
		return is_decimal;
	if (is_numeric_date(part) || is_month_year(part) || is_day_month(part))
		return is_date;
	return NULL;
}
