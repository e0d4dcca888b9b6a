#include "show/locale.h"

#include <string.h>

/* By language; what the language means alone is its first row. */
static const struct locale locales[] = {
    {"bg", "BG", ',', ';'},
    {"ca", "AD ES FR IT", ',', ';'},
    {"cs", "CZ", ',', ';'},
    {"cy", "GB", '.', ','},
    {"da", "DK GL", ',', ';'},
    {"de", "AT BE DE IT LU", ',', ';'},
    {"de", "CH LI", '.', ';'},
    {"el", "CY GR", ',', ';'},
    {"en", "AU CA CY GB HK IE IL IN JM KE MT MY NG NZ PH PK SG TT US ZW", '.', ','},
    {"en", "AT BE DE DK FI NL SE SI ZA", ',', ';'},
    {"en", "CH", '.', ';'},
    {"es", "AR BO CL CO CR EC ES GQ PY UY VE", ',', ';'},
    {"es", "BZ CU DO GT HN MX NI PA PE PR SV US", '.', ','},
    {"et", "EE", ',', ';'},
    {"eu", "ES", ',', ';'},
    {"fi", "FI", ',', ';'},
    {"fr", "BE CA CD CH CI CM DZ FR LU MA MC MG ML MU NC PF RE SN TN", ',', ';'},
    {"ga", "GB IE", '.', ','},
    {"gl", "ES", ',', ';'},
    {"he", "IL", '.', ','},
    {"hi", "IN", '.', ','},
    {"hr", "BA HR", ',', ';'},
    {"hu", "HU", ',', ';'},
    {"id", "ID", ',', ';'},
    {"is", "IS", ',', ';'},
    {"it", "IT SM VA", ',', ';'},
    {"it", "CH", '.', ';'},
    {"ja", "JP", '.', ','},
    {"ko", "KP KR", '.', ','},
    {"lt", "LT", ',', ';'},
    {"lv", "LV", ',', ';'},
    {"mk", "MK", ',', ';'},
    {"ms", "MY SG", '.', ','},
    {"ms", "BN ID", ',', ';'},
    {"mt", "MT", '.', ','},
    {"nb", "NO SJ", ',', ';'},
    {"nl", "AW BE BQ CW NL SR SX", ',', ';'},
    {"nn", "NO", ',', ';'},
    {"no", "", ',', ';'},
    {"pl", "PL", ',', ';'},
    {"pt", "AO BR CH LU MZ PT", ',', ';'},
    {"ro", "MD RO", ',', ';'},
    {"ru", "BY KG KZ MD RU UA", ',', ';'},
    {"sk", "SK", ',', ';'},
    {"sl", "SI", ',', ';'},
    {"sq", "AL MK XK", ',', ';'},
    {"sr", "BA ME RS XK", ',', ';'},
    {"sv", "AX FI SE", ',', ';'},
    {"th", "TH", '.', ','},
    {"tr", "CY TR", ',', ';'},
    {"uk", "UA", ',', ';'},
    {"vi", "VN", ',', ';'},
    {"zh", "CN HK MO SG TW", '.', ','},
};

enum { LOCALES = sizeof locales / sizeof *locales };

static bool
has_territory(const struct locale *locale, const char *territory)
{
	for (const char *s = locale->territories; *s != '\0'; s += strspn(s, " ")) {
		const char code[] = {s[0], s[1], '\0'};

		if (text_equal_fold(code, territory))
			return true;
		s += 2;
	}
	return false;
}

static const struct locale *
look_up(const char *language, const char *territory, bool *language_known)
{
	*language_known = false;
	for (size_t i = 0; i < LOCALES; i++) {
		if (!text_equal_fold(locales[i].language, language))
			continue;
		*language_known = true;
		if (*territory == '\0' || has_territory(&locales[i], territory))
			return &locales[i];
	}
	return NULL;
}

static const char *
kept(struct text *out, struct arena *arena)
{
	const char *copy = arena_copy(arena, out->bytes, out->length);

	text_free(out);
	return copy;
}

/* All languages, once each. */
static const char *
languages(struct arena *arena)
{
	struct text out = {0};

	text_adds(&out, "name a language, or a language and a territory such as de_AT; there are");
	for (size_t i = 0; i < LOCALES; i++)
		if (i == 0 || strcmp(locales[i].language, locales[i - 1].language) != 0) {
			text_addc(&out, ' ');
			text_adds(&out, locales[i].language);
		}
	return kept(&out, arena);
}

/* The language's territories. */
static const char *
territories(const char *language, struct arena *arena)
{
	struct text out = {0};

	text_adds(&out, "territories of that language are");
	for (size_t i = 0; i < LOCALES; i++)
		if (text_equal_fold(locales[i].language, language)) {
			text_addc(&out, ' ');
			text_adds(&out, locales[i].territories);
		}
	return kept(&out, arena);
}

const struct locale *
locale_find(const char *name, struct arena *arena, const char **why)
{
	const struct locale *found;
	size_t length = strcspn(name, ".@"), first = strcspn(name, "_-");
	const char *language, *territory = "";
	bool known;

	if (first < length)
		territory = arena_copy(arena, name + first + 1, length - first - 1);
	language = arena_copy(arena, name, first < length ? first : length);
	found = look_up(language, territory, &known);
	if (found == NULL)
		*why = known ? territories(language, arena) : languages(arena);
	return found;
}
