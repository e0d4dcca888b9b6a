/*
 * What every page of HTML has in common: its style and its script, line by line, and the policy
 * that allows nothing but these two, by their SHA-256 (Content Security Policy Level 3,
 * hash-source). Whoever changes a line takes the new hash from tests/lot-show.bats, which says what
 * is due.
 */
#ifndef LOTPIPE_SHOW_PAGE_H
#define LOTPIPE_SHOW_PAGE_H

#include "base/text.h"

/* Everything up to the title's text. */
void page_start(struct text *out);
/* From behind the title's text to the start of the body. */
void page_body(struct text *out);
void page_end(struct text *out);

#endif
