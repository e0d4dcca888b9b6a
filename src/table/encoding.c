#include "table/encoding.h"

#include "base/err.h"

#include <errno.h>
#include <iconv.h>
#include <string.h>

/* Takes off a byte-order mark, in place. */
static void
drop_mark(struct text *bytes, size_t length)
{
	memmove(bytes->bytes, bytes->bytes + length, bytes->length - length + 1);
	bytes->length -= length;
}

static bool
starts_with(const struct text *bytes, const char *mark, size_t length)
{
	return bytes->length >= length && memcmp(bytes->bytes, mark, length) == 0;
}

static void
convert(struct text *bytes, const char *name, const char *file)
{
	struct text out = {0};
	char *from = bytes->bytes, piece[4096];
	size_t left = bytes->length;
	iconv_t cd = iconv_open("UTF-8", name);
	struct arena arena = {0};

	if (cd == (iconv_t)-1 && errno != EINVAL)
		die_errno("encoding \"%s\"", text_show(&arena, name));
	if (cd == (iconv_t)-1)
		die("unknown encoding \"%s\": iconv -l lists what there is",
		    text_show(&arena, name));
	for (bool ended = false; !ended;) {
		char *to = piece;
		size_t room = sizeof piece;
		bool flush = left == 0; /* some encodings hold the last character back */
		size_t got =
		    flush ? iconv(cd, NULL, NULL, &to, &room) : iconv(cd, &from, &left, &to, &room);
		int why = errno;

		text_add(&out, piece, (size_t)(to - piece));
		if (got == (size_t)-1 && why != E2BIG)
			die("%s: byte %zu is not valid %s: name the right --encoding", file,
			    bytes->length - left + 1, text_show(&arena, name));
		ended = flush && got != (size_t)-1;
	}
	iconv_close(cd);
	text_add(&out, "", 0);
	text_free(bytes);
	*bytes = out;
}

void
encoding_to_utf8(struct text *bytes, const char *name, const char *file)
{
	if (bytes->length == 0)
		return;
	if (name != NULL)
		convert(bytes, name, file);
	else if (starts_with(bytes, "\xFF\xFE", 2))
		convert(bytes, "UTF-16", file);
	else if (starts_with(bytes, "\xFE\xFF", 2))
		convert(bytes, "UTF-16", file);
	if (starts_with(bytes, "\xEF\xBB\xBF", 3))
		drop_mark(bytes, 3);
}
