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

/* Short names of months, ASCII letter case aside. */
static const char *const months[] = {
    "jan",           "feb",           "mar",       "apr",        "may",       "jun",
    "jul",           "aug",           "sep",       "sept",       "oct",       "nov",
    "dec",           "mrz",           "j\u00E4n",  "m\u00E4r",   "m\u00E4rz", "mai",
    "juni",          "juli",          "okt",       "dez",        "janv",      "fevr",
    "f\u00E9vr",     "mars",          "avr",       "avril",      "juin",      "juil",
    "aout",          "ao\u00FBt",     "d\u00E9c",  "ene",        "abr",       "ago",
    "dic",           "gen",           "giu",       "lug",        "ott",       "mrt",
    "mei",           "maart",         "fev",       "sty",        "lut",       "kwi",
    "maj",           "cze",           "sie",       "wrz",        "pa\u017A",  "gru",
    "\u00FAno",      "b\u0159e",      "kv\u011B",  "\u010Den",   "\u010Dec",  "srp",
    "z\u00E1\u0159", "\u0159\u00EDj", "des",       "tammi",      "helmi",     "maalis",
    "huhti",         "touko",         "kes\u00E4", "hein\u00E4", "syys",      "loka",
    "marras",        "joulu"};
/* Those that are an ordinary word as well: not with a blank before or behind them. */
static const char *const months_or_words[] = {"mag", "set", "out"};
/* Words first of all: nor without a day and four digits of a year. */
static const char *const words_or_months[] = {"led", "dub", "lis", "pro", "lip", "elo"};

/* What a word says of a month. */
enum month {
	no_month,
	month,
	month_or_word,
	word_or_month,
	long_month, /* begins as one: its name in full; with a day and four digits of a year */
};

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

/* "2026-03-01", "2026/3/1", "01.03.2026", "3/1/26", "1. 3. 2026": three numbers. */
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
	if (mark == '.')
		take(&scan, ' ');
	b = take_digits(&scan, &second);
	if (!take(&scan, mark))
		return false;
	if (mark == '.')
		take(&scan, ' ');
	c = take_digits(&scan, &third);
	if (!ends_as_date(&scan))
		return false;
	if (a == 4)
		return is_month(b, second) && is_day(c, third);
	if (c != 4 && (c != 2 || (mark == '-' && (a != 2 || b != 2))))
		return false;
	return is_day(a, first) && is_day(b, second) && (first <= 12 || second <= 12);
}

/* The word begins with one of those, or with whole is one. */
static bool
is_one_of(const char *word, size_t length, bool whole, const char *const *words, size_t count)
{
	char copy[8];

	for (size_t i = 0; i < count; i++) {
		size_t due = strlen(words[i]);

		if (due > length || (whole && due < length))
			continue;
		memcpy(copy, word, due);
		copy[due] = '\0';
		if (text_equal_fold(copy, words[i]))
			return true;
	}
	return false;
}

#define IS_ONE_OF(word, length, whole, words)                                                      \
	is_one_of(word, length, whole, words, sizeof(words) / sizeof *(words))

/* Past the name of a month, and a full stop behind it. */
static enum month
take_month(struct scan *scan)
{
	const char *word = scan->at;
	size_t length = 0;

	while (((unsigned char)word[length] | 0x20) >= 'a')
		length++;
	scan->at += length;
	take(scan, '.');
	if (IS_ONE_OF(word, length, true, months))
		return month;
	if (IS_ONE_OF(word, length, true, months_or_words))
		return month_or_word;
	if (IS_ONE_OF(word, length, true, words_or_months))
		return word_or_month;
	return IS_ONE_OF(word, length, false, months) ? long_month : no_month;
}

/* Past a hyphen, slash or blank; *blank: it is that. */
static bool
take_mark(struct scan *scan, bool *blank)
{
	*blank = *scan->at == ' ';
	return take(scan, '-') || take(scan, '/') || take(scan, ' ');
}

/* A month that needs no year, blanks beside it or not. */
static bool
stands_alone(enum month name, bool blank)
{
	return name == month || (name == month_or_word && !blank);
}

/* A month that has a day and four digits of a year with it. */
static bool
stands_in_date(enum month name, bool blank)
{
	return name == month || name == long_month || (name != no_month && !blank);
}

/* "Mar-01", "Mrz 26", "Mar-2026", "Mar-1". */
static bool
is_month_year(const char *part)
{
	struct scan scan = {part};
	enum month name = take_month(&scan);
	bool blank;
	unsigned value;
	size_t digits;

	if (!take_mark(&scan, &blank) || !stands_alone(name, blank))
		return false;
	digits = take_digits(&scan, &value);
	return (digits == 1 || digits == 2 || digits == 4) && *scan.at == '\0';
}

/* "Mar/01/2026", "Jan.01.2026", "jan..01.2026", "March 1, 2026". */
static bool
is_month_day_year(const char *part)
{
	struct scan scan = {part};
	enum month name = take_month(&scan);
	bool dot = scan.at > part && scan.at[-1] == '.', blank;
	unsigned value;
	size_t digits;

	if (!take_mark(&scan, &blank) && !take(&scan, '.') && !dot)
		return false;
	if (!stands_in_date(name, blank))
		return false;
	digits = take_digits(&scan, &value);
	if (!is_day(digits, value))
		return false;
	take(&scan, ',');
	if (!take_mark(&scan, &blank) && !take(&scan, '.'))
		return false;
	return take_digits(&scan, &value) == 4 && *scan.at == '\0';
}

/* "1-Mar", "01-Mar-26", "01. Mrz", "1 Mar 2026", "1. March 2026". */
static bool
is_day_month(const char *part)
{
	struct scan scan = {part};
	enum month name;
	bool dot, blank, behind;
	unsigned value;
	size_t digits = take_digits(&scan, &value);

	if (!is_day(digits, value))
		return false;
	dot = take(&scan, '.');
	if (!take_mark(&scan, &blank) && !dot)
		return false;
	blank = blank && !dot;
	name = take_month(&scan);
	if (*scan.at == '\0')
		return stands_alone(name, blank);
	if (!take_mark(&scan, &behind))
		return false;
	digits = take_digits(&scan, &value);
	if (*scan.at != '\0')
		return false;
	return digits == 4 ? stands_in_date(name, blank) : digits == 2 && stands_alone(name, blank);
}

/* "#N/A", "#REF!", "#NAME?", "#WERT!", "Err:508"; "###": a number too wide for its column. */
static bool
is_error_value(const char *part)
{
	size_t length = strlen(part), name = strcspn(part, ":");
	bool capitals = length > 2;

	if (*part != '#')
		return part[name] == ':' &&
		       is_one_of(part, name, true, (const char *[]){"err", "fehler"}, 2) &&
		       strspn(part + name + 1, "0123456789") == length - name - 1 &&
		       length > name + 1;
	if (strspn(part, "#") == length)
		return length > 2;
	if (is_one_of(part + 1, length - 1, true, (const char *[]){"N/A", "N/D", "NV", "I/T"}, 4))
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
	if (is_numeric_date(part) || is_month_year(part) || is_month_day_year(part) ||
	    is_day_month(part))
		return is_date;
	return NULL;
}
