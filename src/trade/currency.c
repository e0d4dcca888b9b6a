#include "trade/currency.h"

#include "base/err.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { CODE_LENGTH = 3 };

struct currency {
	char code[4];
	unsigned char decimals;
};

/* Both lists in byte order of code. The codes that ISO 4217 gives no minor unit (metals, units of
 * account, tests) are no money that an amount could be rounded in, and are left out. */

/* ISO 4217, list one, as of January 2026. */
static const struct currency current[] = {
    {"AED", 2}, {"AFN", 2}, {"ALL", 2}, {"AMD", 2}, {"AOA", 2}, {"ARS", 2}, {"AUD", 2}, {"AWG", 2},
    {"AZN", 2}, {"BAM", 2}, {"BBD", 2}, {"BDT", 2}, {"BHD", 3}, {"BIF", 0}, {"BMD", 2}, {"BND", 2},
    {"BOB", 2}, {"BOV", 2}, {"BRL", 2}, {"BSD", 2}, {"BTN", 2}, {"BWP", 2}, {"BYN", 2}, {"BZD", 2},
    {"CAD", 2}, {"CDF", 2}, {"CHE", 2}, {"CHF", 2}, {"CHW", 2}, {"CLF", 4}, {"CLP", 0}, {"CNY", 2},
    {"COP", 2}, {"COU", 2}, {"CRC", 2}, {"CUP", 2}, {"CVE", 2}, {"CZK", 2}, {"DJF", 0}, {"DKK", 2},
    {"DOP", 2}, {"DZD", 2}, {"EGP", 2}, {"ERN", 2}, {"ETB", 2}, {"EUR", 2}, {"FJD", 2}, {"FKP", 2},
    {"GBP", 2}, {"GEL", 2}, {"GHS", 2}, {"GIP", 2}, {"GMD", 2}, {"GNF", 0}, {"GTQ", 2}, {"GYD", 2},
    {"HKD", 2}, {"HNL", 2}, {"HTG", 2}, {"HUF", 2}, {"IDR", 2}, {"ILS", 2}, {"INR", 2}, {"IQD", 3},
    {"IRR", 2}, {"ISK", 0}, {"JMD", 2}, {"JOD", 3}, {"JPY", 0}, {"KES", 2}, {"KGS", 2}, {"KHR", 2},
    {"KMF", 0}, {"KPW", 2}, {"KRW", 0}, {"KWD", 3}, {"KYD", 2}, {"KZT", 2}, {"LAK", 2}, {"LBP", 2},
    {"LKR", 2}, {"LRD", 2}, {"LSL", 2}, {"LYD", 3}, {"MAD", 2}, {"MDL", 2}, {"MGA", 2}, {"MKD", 2},
    {"MMK", 2}, {"MNT", 2}, {"MOP", 2}, {"MRU", 2}, {"MUR", 2}, {"MVR", 2}, {"MWK", 2}, {"MXN", 2},
    {"MXV", 2}, {"MYR", 2}, {"MZN", 2}, {"NAD", 2}, {"NGN", 2}, {"NIO", 2}, {"NOK", 2}, {"NPR", 2},
    {"NZD", 2}, {"OMR", 3}, {"PAB", 2}, {"PEN", 2}, {"PGK", 2}, {"PHP", 2}, {"PKR", 2}, {"PLN", 2},
    {"PYG", 0}, {"QAR", 2}, {"RON", 2}, {"RSD", 2}, {"RUB", 2}, {"RWF", 0}, {"SAR", 2}, {"SBD", 2},
    {"SCR", 2}, {"SDG", 2}, {"SEK", 2}, {"SGD", 2}, {"SHP", 2}, {"SLE", 2}, {"SOS", 2}, {"SRD", 2},
    {"SSP", 2}, {"STN", 2}, {"SVC", 2}, {"SYP", 2}, {"SZL", 2}, {"THB", 2}, {"TJS", 2}, {"TMT", 2},
    {"TND", 3}, {"TOP", 2}, {"TRY", 2}, {"TTD", 2}, {"TWD", 2}, {"TZS", 2}, {"UAH", 2}, {"UGX", 0},
    {"USD", 2}, {"USN", 2}, {"UYI", 0}, {"UYU", 2}, {"UYW", 4}, {"UZS", 2}, {"VED", 2}, {"VES", 2},
    {"VND", 0}, {"VUV", 0}, {"WST", 2}, {"XAD", 2}, {"XAF", 0}, {"XCD", 2}, {"XCG", 2}, {"XOF", 0},
    {"XPF", 0}, {"YER", 2}, {"ZAR", 2}, {"ZMW", 2}, {"ZWG", 2},
};

/* ISO 4217, list three: codes withdrawn since 1999, with the minor unit last in use, so that old
 * price lists and the fixed euro rates can be read. */
static const struct currency withdrawn[] = {
    {"ADP", 0}, {"AFA", 2}, {"ANG", 2}, {"ATS", 2}, {"AZM", 2}, {"BEF", 0}, {"BGN", 2},
    {"BYB", 0}, {"BYR", 0}, {"CSD", 2}, {"CUC", 2}, {"CYP", 2}, {"DEM", 2}, {"EEK", 2},
    {"ESP", 0}, {"FIM", 2}, {"FRF", 2}, {"GHC", 2}, {"GRD", 0}, {"GWP", 2}, {"HRK", 2},
    {"IEP", 2}, {"ITL", 0}, {"LTL", 2}, {"LUF", 0}, {"LVL", 2}, {"MGF", 0}, {"MRO", 2},
    {"MTL", 2}, {"MZM", 2}, {"NLG", 2}, {"PTE", 0}, {"ROL", 2}, {"RUR", 2}, {"SDD", 2},
    {"SIT", 2}, {"SKK", 2}, {"SLL", 2}, {"SRG", 2}, {"STD", 2}, {"TMM", 2}, {"TPE", 0},
    {"TRL", 0}, {"VEB", 2}, {"VEF", 2}, {"YUM", 2}, {"ZMK", 2}, {"ZWL", 2}, {"ZWR", 2},
};

enum {
	CURRENT = sizeof current / sizeof *current,
	WITHDRAWN = sizeof withdrawn / sizeof *withdrawn
};

static int
by_code(const void *key, const void *element)
{
	return strcmp(key, ((const struct currency *)element)->code);
}

bool
currency_decimals(const char *code, unsigned *decimals)
{
	const struct currency *found = bsearch(code, current, CURRENT, sizeof *current, by_code);

	if (found == NULL)
		found = bsearch(code, withdrawn, WITHDRAWN, sizeof *withdrawn, by_code);
	if (found == NULL)
		return false;
	*decimals = found->decimals;
	return true;
}

/* Of these, the first of those nearest to a code that are nearer than *least. */
static const char *
nearest_of(const struct currency *list, size_t count, const char *code, size_t *least)
{
	const char *nearest = NULL;

	for (size_t i = 0; i < count; i++) {
		size_t distance = text_distance(code, list[i].code);

		if (distance < *least) {
			*least = distance;
			nearest = list[i].code;
		}
	}
	return nearest;
}

static const char *
nearest_code(const char *code)
{
	/* Where all letters of a code would have to change, it is no slip of the pen. */
	size_t least = 3;
	const char *found, *nearer;

	if (strlen(code) >= CODE_LENGTH + least)
		return NULL;
	found = nearest_of(current, CURRENT, code, &least);
	nearer = nearest_of(withdrawn, WITHDRAWN, code, &least);
	return nearer != NULL ? nearer : found;
}

const char *
currency_hint(struct arena *arena, const char *code)
{
	const char *nearest = nearest_code(code), *hint;
	struct text said = {0};

	if (nearest == NULL)
		return ", such as EUR";
	text_adds(&said, ": did you mean ");
	text_adds(&said, nearest);
	text_adds(&said, "?");
	hint = arena_copy(arena, said.bytes, said.length);
	text_free(&said);
	return hint;
}

bool
currency_field(struct table *table, const struct row *row, size_t column)
{
	const char *code = row_field(row, column);
	unsigned decimals;

	if (*code == '\0' || currency_decimals(code, &decimals))
		return true;
	fault(table_faults(table), row->line, "%s \"%s\" is no currency code of ISO 4217%s",
	      table_header(table)[column], text_show(table_arena(table), code),
	      currency_hint(table_arena(table), code));
	return false;
}

void
currency_option(const char *option, const char *code)
{
	struct arena arena = {0};
	unsigned decimals;

	if (currency_decimals(code, &decimals))
		return;
	die("--%s \"%s\" is no currency code of ISO 4217%s", option, text_show(&arena, code),
	    currency_hint(&arena, code));
}
