/*
 * Fuzz target: decimals, whole numbers of 128 bits, fractions, and what is made of them: rounding,
 * conversion, apportionment; amounts, quantities and dates as texts.
 *
 * Input: choices, then texts: a number as it may stand in a file, then whole numbers a, b, c, d
 * and e, of which more digits than 128 bits hold wrap around.
 *
 * Holds: results are those of school arithmetic on 32-bit limbs, which shares nothing with what is
 * tested; where a result is refused, 128 bits do not hold it; texts read back as what they say.
 */
#include "harness.h"

#include "base/date.h"
#include "base/dec.h"
#include "base/fraction.h"
#include "show/number.h"
#include "trade/apportion.h"
#include "trade/landed.h"
#include "trade/loose_number.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

__extension__ typedef unsigned __int128 wide_bits;
#define WIDE_MOST ((wide)(((wide_bits)1 << 127) - 1))

/* ---- school arithmetic ---- */

enum { LIMBS = 24 };

/* Sign and magnitude, least limb first. */
struct big {
	uint32_t limb[LIMBS];
	bool negative;
};

static struct big
big_of(wide value)
{
	struct big big = {.negative = value < 0};
	wide_bits left = value < 0 ? -(wide_bits)value : (wide_bits)value;

	for (size_t i = 0; left > 0; i++, left >>= 32)
		big.limb[i] = (uint32_t)left;
	return big;
}

static int
compare_limbs(const struct big *a, const struct big *b)
{
	for (size_t i = LIMBS; i-- > 0;)
		if (a->limb[i] != b->limb[i])
			return a->limb[i] < b->limb[i] ? -1 : 1;
	return 0;
}

static struct big
big_negative(struct big a)
{
	static const struct big zero;

	a.negative = compare_limbs(&a, &zero) != 0 && !a.negative;
	return a;
}

static struct big
big_add(struct big a, struct big b)
{
	struct big sum = {.negative = a.negative};
	int64_t carry = 0;

	if (a.negative == b.negative) {
		for (size_t i = 0; i < LIMBS; i++) {
			carry += (int64_t)a.limb[i] + b.limb[i];
			sum.limb[i] = (uint32_t)carry;
			carry >>= 32;
		}
		return sum;
	}
	if (compare_limbs(&a, &b) < 0)
		return big_add(b, a);
	for (size_t i = 0; i < LIMBS; i++) {
		carry += (int64_t)a.limb[i] - b.limb[i];
		sum.limb[i] = (uint32_t)carry;
		carry >>= 32;
	}
	return big_negative(big_negative(sum)); /* no negative 0 */
}

static struct big
big_mul(struct big a, struct big b)
{
	static const struct big zero;
	struct big product = {0};

	for (size_t i = 0; i < LIMBS; i++) {
		uint64_t carry = 0;

		for (size_t k = 0; a.limb[i] != 0 && i + k < LIMBS; k++) {
			carry += (uint64_t)a.limb[i] * b.limb[k] + product.limb[i + k];
			product.limb[i + k] = (uint32_t)carry;
			carry >>= 32;
		}
	}
	product.negative = a.negative != b.negative && compare_limbs(&product, &zero) != 0;
	return product;
}

static int
big_compare(struct big a, struct big b)
{
	if (a.negative != b.negative)
		return a.negative ? -1 : 1;
	return a.negative ? -compare_limbs(&a, &b) : compare_limbs(&a, &b);
}

static bool
big_same(struct big a, struct big b)
{
	return big_compare(a, b) == 0;
}

static struct big
big_absolute(struct big a)
{
	a.negative = false;
	return a;
}

static bool
fits_wide(struct big a)
{
	return big_compare(big_absolute(a), big_of(WIDE_MOST)) <= 0;
}

static struct big
big_power10(unsigned n)
{
	struct big power = big_of(1);

	while (n-- > 0)
		power = big_mul(power, big_of(10));
	return power;
}

/* ---- texts ---- */

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* [-]digits[.digits], digits on one side at least; how many decimals, or -1 where it is none. */
static int
decimals_of(const char *text)
{
	const char *s = text + (*text == '-'), *point;
	size_t whole = strspn(s, "0123456789"), decimals;

	point = s + whole;
	if (*point == '\0')
		return whole > 0 ? 0 : -1;
	if (*point != '.')
		return -1;
	decimals = strspn(point + 1, "0123456789");
	return point[1 + decimals] == '\0' && whole + decimals > 0 && decimals < 1000
	           ? (int)decimals
	           : -1;
}

/* The digits of a text, x 10^zeros, at most so many that limbs hold them. */
static struct big
big_of_text(const char *text, unsigned zeros)
{
	struct big value = {0};

	for (const char *s = text; *s != '\0'; s++)
		if (is_digit(*s))
			value = big_add(big_mul(value, big_of(10)), big_of(*s - '0'));
	value = big_mul(value, big_power10(zeros));
	return *text == '-' ? big_negative(value) : value;
}

static void
check_micro(const char *text)
{
	int decimals = decimals_of(text);
	int64_t value = 0;
	enum dec_fault why = dec_parse_micro(text, true, &value);
	enum dec_fault unsigned_why = dec_parse_micro(text, false, &value);
	struct text shown = {0};
	struct big due;

	FUZZ_CHECK(unsigned_why == (why == DEC_OK && *text == '-' ? DEC_NEGATIVE : why) ||
	               *text == '-',
	           "a sign is the one difference");
	if (decimals < 0 || decimals > MICRO_DECIMALS) {
		FUZZ_CHECK(why == (*text == '\0'  ? DEC_EMPTY
		                   : decimals < 0 ? DEC_NOT_NUMBER
		                                  : DEC_DECIMALS),
		           "what is no decimal is refused");
		return;
	}
	due = big_of_text(text, (unsigned)(MICRO_DECIMALS - decimals));
	if (why == DEC_LARGE) {
		FUZZ_CHECK(big_compare(big_absolute(due), big_of(INT64_MAX)) > 0,
		           "what is too large is");
		return;
	}
	FUZZ_CHECK(why == DEC_OK && dec_parse_micro(text, true, &value) == DEC_OK,
	           "a decimal is read");
	FUZZ_CHECK(big_same(due, big_of(value)), "a decimal is what it says");
	dec_add_text(&shown, value, MICRO_DECIMALS, 0);
	FUZZ_CHECK(dec_parse_micro(shown.bytes, true, &value) == DEC_OK &&
	               big_same(due, big_of(value)),
	           "a decimal that is shown reads back");
	text_free(&shown);
}

static void
check_qty(const char *text)
{
	int64_t value;
	enum dec_fault why = dec_parse_qty(text, &value);
	bool digits = *text != '\0' && strspn(text, "0123456789") == strlen(text);
	struct big due;

	if (why != DEC_OK && !digits)
		return;
	FUZZ_CHECK(digits, "a quantity is digits");
	due = big_of_text(text, 0);
	FUZZ_CHECK(why == DEC_OK ? big_same(due, big_of(value)) && value <= QTY_MOST
	                         : why == DEC_LARGE && big_compare(due, big_of(QTY_MOST)) > 0,
	           "a quantity is what it says");
}

/* The digits of a text, zeros before them off. */
static const char *
digits_of(const char *text)
{
	struct fuzz_bytes digits = {0};

	fuzz_adds(&digits, "");
	for (; *text != '\0'; text++)
		if (is_digit(*text) && (*text != '0' || digits.length > 0))
			fuzz_add(&digits, text, 1);
	return digits.bytes;
}

/* Digits behind the last decimal mark that has some. */
static size_t
decimals_behind(const char *text, enum decimal_mark mark)
{
	size_t count = 0;

	for (const char *s = text; *s != '\0'; s++)
		if (*s == (char)mark && is_digit(s[1]))
			count = strspn(s + 1, "0123456789");
	return count;
}

/* Are those the digits, but for zeros at the end of the decimals? */
static bool
keeps_digits(const char *canonical, const char *written, enum decimal_mark mark)
{
	const char *kept = digits_of(canonical), *all = digits_of(written);
	size_t length = strlen(kept), lost = strlen(all) - length;

	if (strlen(all) > 15 && strlen(all) <= 17 &&
	    decimals_behind(written, mark) > MICRO_DECIMALS)
		return length <= 16; /* rounded */
	return strncmp(all, kept, length) == 0 && lost <= decimals_behind(written, mark) &&
	       strspn(all + length, "0") == lost;
}

/* Numbers as people write them: their digits are those that are written. */
static void
check_loose(const char *text, enum decimal_mark mark)
{
	struct text folded = {0}, out = {0};
	char code[CURRENCY_CODE_SIZE];
	int64_t value;

	text_adds(&folded, text);
	text_fold_blanks(folded.bytes);
	if (loose_pieces(folded.bytes, mark, &value) == NULL)
		FUZZ_CHECK(value >= 0 && value <= QTY_MOST, "pieces are a quantity");
	if (dec_parse_qty(folded.bytes, &value) == DEC_OK) {
		int64_t again = -1;

		FUZZ_CHECK(loose_pieces(folded.bytes, mark, &again) == NULL && again == value,
		           "a quantity is a loose one");
	}
	if (loose_decimal(folded.bytes, mark, &out, code) == NULL) {
		FUZZ_CHECK(dec_parse_micro(out.bytes, false, &value) == DEC_OK,
		           "a loose decimal becomes a canonical one");
		FUZZ_CHECK(keeps_digits(out.bytes, folded.bytes, mark),
		           "a loose decimal keeps its digits");
		FUZZ_CHECK(strchr(out.bytes, '.') == NULL || out.bytes[out.length - 1] != '0',
		           "a value is one text");
		FUZZ_CHECK(*code == '\0' || strlen(code) == 3, "a currency has three letters");
	} else if (mark == MARK_POINT) {
		FUZZ_CHECK(dec_parse_micro(folded.bytes, false, &value) != DEC_OK,
		           "a canonical decimal is a loose one");
	}
	text_free(&folded);
	text_free(&out);
}

static void
check_date(const char *text)
{
	int32_t date;
	struct text shown = {0};
	struct tm day = {0}, again;
	time_t seconds;

	if (!date_parse(text, &date))
		return;
	date_add_text(&shown, date);
	FUZZ_CHECK(strcmp(shown.bytes, text) == 0, "a date reads back");
	text_free(&shown);
	/* A day that no calendar has becomes another one. */
	day.tm_year = date / 10000 - 1900;
	day.tm_mon = date / 100 % 100 - 1;
	day.tm_mday = date % 100;
	again = day;
	seconds = timegm(&again);
	(void)seconds;
	FUZZ_CHECK(again.tm_mon == day.tm_mon && again.tm_mday == day.tm_mday,
	           "the C library has the day");
}

/* Sums of the numbers in tables. */
static void
check_number_sum(const char *a, const char *b)
{
	struct number_sum sum = {0};
	struct text shown = {0};
	int of_a = decimals_of(a + (*a == '+')), of_b = decimals_of(b + (*b == '+'));
	unsigned most;
	struct big x, y, due;

	if (!number_is(a) || !number_is(b) || strlen(a) + strlen(b) > 180)
		return;
	FUZZ_CHECK(of_a >= 0 && of_b >= 0, "a number of a table is one");
	most = (unsigned)(of_a > of_b ? of_a : of_b);
	x = big_of_text(a, most - (unsigned)of_a);
	y = big_of_text(b, most - (unsigned)of_b);
	due = big_add(x, y);
	if (!number_add(&sum, a) || !number_add(&sum, b)) {
		FUZZ_CHECK(most > 30 || !fits_wide(x) || !fits_wide(y) || !fits_wide(due),
		           "a sum is refused where it is large");
		return;
	}
	FUZZ_CHECK(sum.decimals == most && big_same(due, big_of(sum.value)),
	           "a sum of numbers is exact");
	number_add_text(&shown, &sum);
	FUZZ_CHECK(decimals_of(shown.bytes) == (int)most &&
	               big_same(big_of_text(shown.bytes, 0), due),
	           "a sum that is shown reads back");
	text_free(&shown);
}

/* ---- whole numbers ---- */

static void
check_wide(wide a, wide b)
{
	struct big x = big_of(a), y = big_of(b), sum = big_add(x, y), product = big_mul(x, y);
	wide out = 77, divisor;
	int64_t small = 77;

	FUZZ_CHECK(wide_add(a, b, &out) ? big_same(big_of(out), sum) : !fits_wide(sum) && out == 77,
	           "a sum is right or refused");
	out = 77;
	FUZZ_CHECK(wide_mul(a, b, &out) ? big_same(big_of(out), product)
	                                : !fits_wide(product) && out == 77,
	           "a product is right or refused");
	FUZZ_CHECK(wide_to_int64(a, &small) ? small == a
	                                    : small == 77 && (a > INT64_MAX || a < INT64_MIN),
	           "64 bits are right or refused");
	divisor = wide_common_divisor(a, b);
	FUZZ_CHECK(divisor >= 0 &&
	               (divisor == 0 ? a == 0 && b == 0 : a % divisor == 0 && b % divisor == 0),
	           "a common divisor divides");
	if (divisor > 0)
		FUZZ_CHECK(wide_common_divisor(a / divisor, b / divisor) == 1,
		           "the greatest common divisor leaves none");
}

static void
check_division(wide a, wide b)
{
	struct big x = big_of(a), y = big_of(b), rest, twice;
	wide floor = wide_div_floor(a, b), ceil = wide_div_ceil(a, b);
	int order;

	rest = big_add(x, big_negative(big_mul(big_of(floor), y)));
	FUZZ_CHECK(!rest.negative && big_compare(rest, y) < 0, "a floor is the next below");
	FUZZ_CHECK(ceil == floor + !big_same(rest, big_of(0)), "a ceiling is the next above");
	twice = big_add(rest, rest);
	order = big_compare(twice, y);
	FUZZ_CHECK(wide_div_round(a, b, ROUND_HALF_AWAY) ==
	               floor + (order > 0 || (order == 0 && a > 0)),
	           "halves are rounded away from zero");
	FUZZ_CHECK(wide_div_round(a, b, ROUND_HALF_EVEN) ==
	               floor + (order > 0 || (order == 0 && floor % 2 != 0)),
	           "halves are rounded to even");
}

static void
check_text(wide a, unsigned scale, unsigned least)
{
	struct text shown = {0};
	const char *point;
	size_t decimals;

	dec_add_text(&shown, a, scale, least);
	decimals = (size_t)decimals_of(shown.bytes);
	point = strchr(shown.bytes, '.');
	FUZZ_CHECK(decimals <= scale && decimals >= least, "as many decimals as were asked for");
	FUZZ_CHECK((point == NULL) == (decimals == 0), "a point stands before decimals");
	FUZZ_CHECK(decimals <= least || shown.bytes[shown.length - 1] != '0',
	           "no zeros behind, but those asked for");
	FUZZ_CHECK(big_same(big_of_text(shown.bytes, scale - (unsigned)decimals), big_of(a)),
	           "a number that is shown reads back");
	FUZZ_CHECK(shown.bytes[a < 0] != '0' || point == shown.bytes + (a < 0) + 1 ||
	               strcmp(shown.bytes, "0") == 0,
	           "no zeros before");
	text_free(&shown);
}

/* ---- fractions ---- */

static bool
is_reduced(struct fraction f)
{
	return f.bottom > 0 && wide_common_divisor(f.top, f.bottom) == 1;
}

static void
check_fractions(struct fraction a, struct fraction b)
{
	struct big at = big_of(a.top), ab = big_of(a.bottom), bt = big_of(b.top),
	           bb = big_of(b.bottom);
	struct big sum = big_add(big_mul(at, bb), big_mul(bt, ab)), product = big_mul(at, bt);
	struct big bottom = big_mul(ab, bb);
	struct fraction reduced = fraction_reduced(a.top, a.bottom), out = {7, 7};
	int order = fraction_compare(a, b);

	FUZZ_CHECK(is_reduced(reduced) && big_same(big_mul(at, big_of(reduced.bottom)),
	                                           big_mul(big_of(reduced.top), ab)),
	           "a reduced fraction is the same one");
	FUZZ_CHECK((order > 0) - (order < 0) == big_compare(big_mul(at, bb), big_mul(bt, ab)),
	           "fractions compare");
	if (fraction_add(a, b, &out))
		FUZZ_CHECK(is_reduced(out) && big_same(big_mul(sum, big_of(out.bottom)),
		                                       big_mul(bottom, big_of(out.top))),
		           "a sum of fractions is right");
	else
		FUZZ_CHECK(out.top == 7 &&
		               (!fits_wide(sum) || !fits_wide(bottom) ||
		                !fits_wide(big_mul(at, bb)) || !fits_wide(big_mul(bt, ab))),
		           "a sum of fractions is refused where it is large");
	out = (struct fraction){7, 7};
	if (fraction_multiply(a, b, &out))
		FUZZ_CHECK((is_reduced(out) || !is_reduced(a) || !is_reduced(b)) &&
		               big_same(big_mul(product, big_of(out.bottom)),
		                        big_mul(bottom, big_of(out.top))),
		           "a product of fractions is right");
	else
		FUZZ_CHECK(out.top == 7 && (!fits_wide(product) || !fits_wide(bottom)),
		           "a product of fractions is refused where it is large");
}

static void
check_convert(wide amount, unsigned from, struct fraction rate, unsigned to)
{
	struct big exact = big_mul(big_mul(big_of(amount), big_of(rate.top)), big_power10(to));
	struct big unit = big_mul(big_of(rate.bottom), big_power10(from)), off;
	wide out;

	if (!landed_convert(amount, from, &rate, to, &out)) {
		FUZZ_CHECK(!fits_wide(exact) || !fits_wide(unit),
		           "a conversion is refused where it is large");
		return;
	}
	off = big_add(exact, big_negative(big_mul(big_of(out), unit)));
	off = big_add(off, off);
	FUZZ_CHECK(big_compare(big_absolute(off), unit) <= 0,
	           "a conversion is rounded to the next");
	if (big_same(big_absolute(off), unit))
		FUZZ_CHECK(off.negative == exact.negative ? false : true,
		           "halves are rounded away from zero");
}

static void
check_apportion(wide total, const wide *weight, size_t count)
{
	wide share[8];
	struct big sum = big_of(0), weights = big_of(0);

	if (!apportion(total, weight, count, share))
		return;
	for (size_t i = 0; i < count; i++) {
		sum = big_add(sum, big_of(share[i]));
		weights = big_add(weights, big_of(weight[i]));
	}
	FUZZ_CHECK(big_same(sum, big_of(total)), "shares add up to the total");
	/* Each is its quota, rounded down or up: |share x weights - total x weight| < weights. */
	for (size_t i = 0; i < count && !big_same(weights, big_of(0)); i++) {
		struct big off = big_add(big_mul(big_of(share[i]), weights),
		                         big_negative(big_mul(big_of(total), big_of(weight[i]))));

		FUZZ_CHECK(big_compare(big_absolute(off), weights) < 0,
		           "a share is off its quota by less than a unit");
	}
}

/* ---- the input ---- */

struct drawn {
	const char *first, *second;
	wide a, b, c, d, e;
	unsigned scale, least;
	enum decimal_mark mark;
};

/* The whole number that a text says, modulo 2^127. */
static wide
wide_of(const char *text)
{
	wide_bits value = 0;

	for (const char *s = text; *s != '\0'; s++)
		if (is_digit(*s))
			value = 10 * value + (unsigned)(*s - '0');
	value &= (wide_bits)WIDE_MOST;
	return *text == '-' ? -(wide)value : (wide)value;
}

static wide
positive(wide value)
{
	return value < 0 ? -value : value == 0 ? 1 : value;
}

static void
check_all(void *data)
{
	const struct drawn *drawn = data;
	struct fraction one = {drawn->a, positive(drawn->b)},
	                other = {drawn->c, positive(drawn->d)};
	wide weight[] = {positive(drawn->b) - 1, positive(drawn->c), positive(drawn->d) - 1,
	                 positive(drawn->e)};

	check_micro(drawn->first);
	check_qty(drawn->first);
	check_loose(drawn->first, drawn->mark);
	check_date(drawn->first);
	check_number_sum(drawn->first, drawn->second);
	check_wide(drawn->a, drawn->b);
	check_division(drawn->a, positive(drawn->b));
	check_text(drawn->a, drawn->scale, drawn->least);
	check_fractions(one, other);
	other.top = positive(other.top);
	check_convert(drawn->a, drawn->least % 10, other, drawn->scale % 10);
	check_apportion(drawn->a, weight, sizeof weight / sizeof *weight);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_input in = fuzz_start_choices(data, size);
	struct drawn drawn = {.scale = fuzz_choice(&in, 31)};
	const char *line[7];

	drawn.least = fuzz_choice(&in, drawn.scale + 1);
	drawn.mark = fuzz_choice(&in, 2) ? MARK_COMMA : MARK_POINT;
	if (size > 600)
		return -1;
	for (size_t i = 0; i < 7; i++) {
		const unsigned char *from = in.next, *end;

		end = from < in.end ? memchr(from, '\n', (size_t)(in.end - from)) : NULL;
		in.next = end != NULL ? end + 1 : in.end;
		end = end != NULL ? end : in.end;
		line[i] = fuzz_of((const char *)from, (size_t)(end - from)).bytes;
	}
	/* What comes out of files is UTF-8. */
	if (text_utf8_bad(line[0], strlen(line[0])) < strlen(line[0]))
		return -1;
	drawn.first = line[0];
	drawn.second = line[1];
	drawn.a = wide_of(line[2]);
	drawn.b = wide_of(line[3]);
	drawn.c = wide_of(line[4]);
	drawn.d = wide_of(line[5]);
	drawn.e = wide_of(line[6]);
	fuzz_run(check_all, &drawn);
	return 0;
}
