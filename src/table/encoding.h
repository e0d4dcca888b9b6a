/*
 * Encodings: the bytes of a file, turned into UTF-8 without byte-order mark. UTF-8 (checked),
 * UTF-16 by its byte-order mark, anything else by name through iconv.
 */
#ifndef LOTPIPE_ENCODING_H
#define LOTPIPE_ENCODING_H

#include "base/text.h"

/* Converts in place. name NULL: UTF-8, or UTF-16 where its mark says so. file is for messages;
 * bytes that do not convert are told and exit with EXIT_TROUBLE. Validity of UTF-8 is not
 * checked here but by the table, which can name row and column. */
void encoding_to_utf8(struct text *bytes, const char *name, const char *file);

#endif
