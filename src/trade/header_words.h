/*
 * Header words: the canonical columns of parts, stock and offers lists, and the ordinary words,
 * in several languages, that people head such columns with.
 *
 * Owns the table of columns (name, which lists have it, what its fields hold) and of words. A
 * header is compared in its normal form: lower case, accents off, everything but letters and
 * digits a blank, blanks folded, a currency code at the end off ("Prix unitaire (EUR)" is
 * "prix unitaire"). Words are whole headers, never parts of one, so that "Total price" is no
 * price. No shape but text; no errors.
 *
 * Source of the words: ordinary dictionary words, from memory.
 */
#ifndef LOTPIPE_HEADER_WORDS_H
#define LOTPIPE_HEADER_WORDS_H

#include "base/text.h"

#include <stdbool.h>

enum list_kind { LIST_NEED = 1, LIST_STOCK = 2, LIST_OFFERS = 4 };

enum list_column {
	COLUMN_SELLER,
	COLUMN_CODE, /* an order code that stands for part and color */
	COLUMN_PART,
	COLUMN_COLOR,
	COLUMN_QTY,
	COLUMN_PRICE,
	COLUMN_CURRENCY,
	COLUMN_CONDITION,
	COLUMN_CLASS,
	COLUMN_STEP,
	COLUMN_LEAST,
	COLUMN_LISTING,
	COLUMN_LOT,
	COLUMN_GROUP,
	COLUMN_MODEL,
	COLUMN_PLACE,
	COLUMN_NOT_COLOR,
	COLUMN_PENALTY,
	COLUMN_WORTH,
	COLUMN_TOGETHER,
	COLUMN_GRAMS,
	COLUMN_NOTE,
	LIST_COLUMNS
};

/* What the fields of a column hold. */
enum field_kind {
	FIELD_NAME,    /* text; blanks are folded */
	FIELD_PATTERN, /* blanks around it are no part of it, those inside are */
	FIELD_REMARK,  /* text that stays as it is */
	FIELD_PIECES,  /* a whole number */
	FIELD_DECIMAL  /* money or grams */
};

struct list_column_rule {
	const char *name;
	unsigned lists;  /* enum list_kind, or-ed: those that have the column */
	unsigned needed; /* those that cannot do without */
	enum field_kind holds;
	bool tells_apart;  /* rows that differ in it are different lots */
	const char *words; /* normal forms, "|" between them */
};

extern const struct list_column_rule list_columns[LIST_COLUMNS];

/* The column of that canonical name, letter case aside, or LIST_COLUMNS. */
enum list_column list_column_named(const char *name);
/* The canonical name nearest to a misspelt one, or NULL. */
const char *list_column_nearest(const char *name);

/* The normal form of a header, added to an empty text. */
void header_normal(struct text *normal, const char *header);
/* Is this normal form one of the column's words? */
bool header_is_word_of(enum list_column column, const char *normal);

#endif
