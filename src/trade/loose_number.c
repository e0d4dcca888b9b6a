#include "trade/loose_number.h"

#include "base/dec.h"
#include "trade/currency.h"

#include <stdbool.h>
#include <string.h>

#define TIMES_SIGN "\xC3\x97"
#define EURO_SIGN  "\xE2\x82\xAC"
#define MINUS_SIGN "\xE2\x88\x92"

/* What ends a diagnostic. */
static const char wrong_grouping_point[] =
    "is grouped wrong: with . for decimals, \",\" parts thousands (is it --decimal comma?)";
static const char wrong_grouping_comma[] =
    "is grouped wrong: with , for decimals, \".\" parts thousands (is it --decimal point?)";

static const char not_decimal[] =
    "is no amount: write it as 1234.5, with a currency sign or code or none";
static const char not_pieces[] = "is no number of pieces: write digits, as 12, x12 or 12 pcs";

/* Words for pieces, after a quantity; letter case and a point at the end aside. English, German,
 * French, Spanish, Italian, Dutch, Portuguese, Polish, Czech, Finnish; from memory. */
static const char *const piece_words[] = {"pcs",
                                          "pc",
                                          "piece",
                                          "pieces",
                                          "ea",
                                          "units",
                                          "unit",
                                          "stk",
                                          "st",
                                          "stck",
                                          "stueck",
                                          "stuck",
                                          "st\xC3\xBC"
                                          "ck",
                                          "pce",
                                          "pces",
                                          "pi\xC3\xA8"
                                          "ce",
                                          "pi\xC3\xA8"
                                          "ces",
                                          "uds",
                                          "ud",
                                          "pza",
                                          "pzas",
                                          "pieza",
                                          "piezas",
                                          "pz",
                                          "pzz",
                                          "pezzo",
                                          "pezzi",
                                          "stuks",
                                          "un",
                                          "p\xC3\xA7",
                                          "p\xC3\xA7s",
                                          "pe\xC3\xA7"
                                          "a",
                                          "pe\xC3\xA7"
                                          "as",
                                          "szt",
                                          "sztuk",
                                          "ks",
                                          "kpl"};

/* What may stand beside an amount besides an ISO 4217 code; letter case aside. "" ends it.
 * Cents and pence are not here: they would change the value. */
static const char *const money_signs[] = {"$",
                                          "US$",
                                          "A$",
                                          "AU$",
                                          "C$",
                                          "CA$",
                                          "NZ$",
                                          "HK$",
                                          "S$",
                                          "R$",
                                          "\xC2\xA3",
                                          "\xC2\xA5",
                                          EURO_SIGN,
                                          "\xE2\x82\xA9",
                                          "\xE2\x82\xAA",
                                          "\xE2\x82\xAB",
                                          "\xE2\x82\xB1",
                                          "\xE2\x82\xB4",
                                          "\xE2\x82\xB9",
                                          "\xE2\x82\xBA",
                                          "\xE2\x82\xBD",
                                          "\xE0\xB8\xBF",
                                          "kr",
                                          "kr.",
                                          "z\xC5\x82",
                                          "z\xC5\x81",
                                          "K\xC4\x8D",
                                          "Ft",
                                          "Fr",
                                          "Fr.",
                                          "SFr",
                                          "SFr.",
                                          "lei",
                                          "Rs",
                                          "Rs."};

/* A number found in a text: where its digits are. */
struct found {
	const char *whole; /* digits with grouping */
	size_t whole_bytes;
	const char *decimals; /* digits */
	size_t decimal_count;
	const char *rest; /* what follows */
};

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Bytes of the grouping mark at s, 0 if it is none. */
static size_t
group_mark(const char *s, enum decimal_mark mark)
{
	if (*s == (mark == MARK_POINT ? ',' : '.') || *s == ' ' || *s == '\'')
		return 1;
	return strncmp(s, "\xE2\x80\x99", 3) == 0 ? 3 : 0; /* a typographic apostrophe */
}

/* Takes the whole digits: plain, or in threes after the first one to three, not from 0 on. */
static bool
take_whole(const char **text, enum decimal_mark mark, struct found *found)
{
	const char *s = *text, *first = NULL;
	size_t run = 0, step;

	found->whole = s;
	for (; is_digit(*s); s++)
		run++;
	while ((step = group_mark(s, mark)) > 0 && is_digit(s[step])) {
		if (first == NULL ? run == 0 || run > 3 || *found->whole == '0'
		                  : strncmp(s, first, step) != 0)
			return false;
		if (first == NULL)
			first = s;
		s += step;
		for (run = 0; is_digit(s[run]); run++)
			;
		if (run != 3)
			return false;
		s += run;
	}
	found->whole_bytes = (size_t)(s - found->whole);
	*text = s;
	return true;
}

/* Takes a number; returns what is wrong with it, or NULL. */
static const char *
take_number(const char *text, enum decimal_mark mark, struct found *found)
{
	const char *s = text;

	if (!take_whole(&s, mark, found))
		return mark == MARK_POINT ? wrong_grouping_point : wrong_grouping_comma;
	found->decimals = s;
	found->decimal_count = 0;
	if (*s == (char)mark) {
		found->decimals = ++s;
		for (; is_digit(*s); s++)
			found->decimal_count++;
	}
	if (group_mark(s, mark) == 1 && *s != ' ') /* "1,200.5,7", "12," */
		return mark == MARK_POINT ? wrong_grouping_point : wrong_grouping_comma;
	found->rest = s;
	return NULL;
}

/* Past a minus sign, if there is one at s. */
static const char *
past_minus(const char *s)
{
	size_t bytes = *s == '-' ? 1 : strncmp(s, MINUS_SIGN, 3) == 0 ? 3 : 0;

	if (bytes == 0)
		return NULL;
	return s[bytes] == ' ' ? s + bytes + 1 : s + bytes;
}

static const char *
past_blank(const char *s)
{
	return *s == ' ' ? s + 1 : s;
}

/* Past "x" or a multiplication sign, if there is one at s; else s. */
static const char *
past_times(const char *s)
{
	if (*s == 'x' || *s == 'X')
		return s + 1;
	return strncmp(s, TIMES_SIGN, 2) == 0 ? s + 2 : s;
}

/* May this follow a number of pieces? */
static bool
is_piece_word(const char *s)
{
	char word[16];
	size_t length = strlen(s);

	if (length > 0 && s[length - 1] == '.')
		length--;
	if (length >= sizeof word)
		return false;
	memcpy(word, s, length);
	word[length] = '\0';
	for (size_t i = 0; i < sizeof piece_words / sizeof piece_words[0]; i++)
		if (text_equal_fold(word, piece_words[i]))
			return true;
	return false;
}

/* A binary number needs up to 17 digits to be written out, of which a spreadsheet keeps 15: what
 * is behind those (0.1 + 0.2 is 0.30000000000000004) goes, rounded. The text's point is at point.
 */
static void
drop_binary_noise(struct text *number, size_t point)
{
	size_t first = strspn(number->bytes, "0."), cut = number->length, digits;
	bool up;

	digits = number->length - first - (first < point);
	if (digits <= 15 || digits > 17)
		return;
	cut -= digits - 15;
	if (cut <= point + 1)
		return;
	up = number->bytes[cut] >= '5';
	number->length = cut;
	number->bytes[cut] = '\0';
	for (; up && cut > 0; cut--) {
		char *digit = &number->bytes[cut - 1];

		if (*digit == '.')
			continue;
		up = *digit == '9';
		*digit = up ? '0' : (char)(*digit + 1);
	}
	if (!up)
		return;
	text_addc(number, '0');
	memmove(number->bytes + 1, number->bytes, number->length - 1);
	number->bytes[0] = '1';
}

/* Whole digits without grouping and leading zeros, then the decimals but for zeros at their end. */
static void
put_decimal(struct text *out, const struct found *found)
{
	size_t point;

	for (size_t i = 0; i < found->whole_bytes; i++) {
		char c = found->whole[i];

		if (is_digit(c) && (c != '0' || out->length > 0))
			text_addc(out, c);
	}
	if (out->length == 0)
		text_addc(out, '0');
	if (found->decimal_count == 0)
		return;
	point = out->length;
	text_addc(out, '.');
	text_add(out, found->decimals, found->decimal_count);
	if (found->decimal_count > MICRO_DECIMALS)
		drop_binary_noise(out, point);
	while (out->bytes[out->length - 1] == '0')
		out->length--;
	if (out->bytes[out->length - 1] == '.')
		out->length--;
	out->bytes[out->length] = '\0';
}

const char *
loose_pieces(const char *text, enum decimal_mark mark, int64_t *pieces)
{
	const char *start = past_blank(past_times(text)), *rest, *why;
	bool times = start != text;
	struct text plain = {0};
	struct found found;
	int64_t value = 0;

	if (*text == '\0')
		return dec_fault_text(DEC_EMPTY);
	if (past_minus(text) != NULL && is_digit(*past_minus(text)))
		return dec_fault_text(DEC_NEGATIVE);
	why = take_number(start, mark, &found);
	if (why != NULL)
		return why;
	if (found.whole_bytes == 0)
		return not_pieces;
	rest = past_blank(found.rest);
	if (*rest != '\0' && (times || *past_times(rest) != '\0') && !is_piece_word(rest))
		return not_pieces;
	put_decimal(&plain, &found);
	for (size_t i = 0; i < plain.length && why == NULL; i++) {
		if (plain.bytes[i] == '.')
			why = "is no whole number: pieces are whole";
		else
			value = value * 10 + (plain.bytes[i] - '0');
		if (value > QTY_MOST)
			why = "is too large: 999,999,999 pieces are the most";
	}
	text_free(&plain);
	if (why != NULL)
		return why;
	*pieces = value;
	return NULL;
}

/* Bytes of the money sign that starts (or, at_end, ends) the text of that length; 0: none. */
static size_t
money_sign(const char *s, size_t length, bool at_end, char code[CURRENCY_CODE_SIZE])
{
	char word[8];
	size_t best = 0;
	unsigned decimals;

	for (size_t i = 0; i < sizeof money_signs / sizeof money_signs[0]; i++) {
		size_t bytes = strlen(money_signs[i]);

		if (bytes > length || bytes <= best)
			continue;
		memcpy(word, at_end ? s + length - bytes : s, bytes);
		word[bytes] = '\0';
		if (!text_equal_fold(word, money_signs[i]))
			continue;
		best = bytes;
		if (strcmp(word, EURO_SIGN) == 0)
			memcpy(code, "EUR", CURRENCY_CODE_SIZE);
	}
	if (best > 0 || length < 3)
		return best;
	memcpy(word, at_end ? s + length - 3 : s, 3);
	for (size_t i = 0; i < 3; i++)
		if (word[i] >= 'a' && word[i] <= 'z')
			word[i] = (char)(word[i] - 'a' + 'A');
	word[3] = '\0';
	if (!currency_decimals(word, &decimals))
		return 0;
	memcpy(code, word, CURRENCY_CODE_SIZE);
	return 3;
}

const char *
loose_decimal(const char *text, enum decimal_mark mark, struct text *out,
              char code[CURRENCY_CODE_SIZE])
{
	const char *s = text, *why;
	char second[CURRENCY_CODE_SIZE] = "";
	struct found found;
	size_t sign;
	int64_t value;
	enum dec_fault parsed;

	code[0] = '\0';
	text_clear(out);
	if (*text == '\0')
		return dec_fault_text(DEC_EMPTY);
	if (!is_digit(*s) && *s != (char)mark && past_minus(s) == NULL) {
		sign = money_sign(s, strlen(s), false, code);
		if (sign == 0)
			return not_decimal;
		s = past_blank(s + sign);
	}
	if (past_minus(s) != NULL)
		return is_digit(*past_minus(s)) ? dec_fault_text(DEC_NEGATIVE) : not_decimal;
	why = take_number(s, mark, &found);
	if (why != NULL)
		return why;
	if (found.whole_bytes + found.decimal_count == 0)
		return not_decimal;
	s = past_blank(found.rest);
	if (*s != '\0' && money_sign(s, strlen(s), true, second) != strlen(s))
		return not_decimal;
	if (second[0] != '\0' && code[0] != '\0' && strcmp(code, second) != 0)
		return "names two currencies";
	if (second[0] != '\0')
		memcpy(code, second, CURRENCY_CODE_SIZE);
	put_decimal(out, &found);
	parsed = dec_parse_micro(out->bytes, false, &value);
	return parsed == DEC_OK ? NULL : dec_fault_text(parsed);
}
