#include "trade/loose_line.h"

#include <string.h>

/* From weak to strong. */
enum strength { NO_SEPARATOR, COMMA, DASH, SEMICOLON, LEADER, TAB };

static const char no_quantity[] = "no quantity: write it as 12x, (12) or 12 pcs, and a size as 2x4";
static const char two_quantities[] =
    "two numbers may be the quantity: mark one alone, as 12x or 12 pcs";
static const char no_color[] =
    "no color is parted off: put a comma before it, as in 12x 2x4 plate, "
    "red, or name a file with the color in --known";
static const char unsure_color[] =
    "which is the color? Write the part, one comma and the color, or "
    "name a file with the color in --known";
static const char no_name[] = "nothing but a quantity: give part and color";
static const char no_code[] = "no order code that stands alone beside the quantity";

/* A stretch of the line between separators. */
struct segment {
	const char *start, *end;
	enum strength after; /* the separator behind it */
	bool taken;          /* it was the quantity */
	bool gap;            /* one that was stood behind it */
};

struct scan {
	const struct loose_reader *reader;
	struct segment *segment; /* in the arena */
	size_t count;
	const char *qty; /* found so far; NULL: none */
	bool two;        /* another one was */
};

static bool
is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool
is_blank(char c)
{
	return c == ' ' || c == '\t';
}

/* Bytes of one of the signs at s, or 0. */
static size_t
sign_at(const char *s, const char *const *signs, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (strncmp(s, signs[i], strlen(signs[i])) == 0)
			return strlen(signs[i]);
	return 0;
}

#define TIMES_SIGN "\u00D7"

static const char *const dashes[] = {"--", "-", "\u2013", "\u2014"};

/* Bytes of leader dots at s, or 0. */
static size_t
leader_at(const char *s)
{
	static const char *const dots[] = {".", "_", "\u00B7"};
	size_t length = 0, count = 0, sign;

	for (;; length += sign) {
		if (strncmp(s + length, "\u2026", strlen("\u2026")) == 0) {
			sign = strlen("\u2026");
			count += 3;
		} else {
			sign = sign_at(s + length, dots, sizeof dots / sizeof *dots);
			count += sign > 0;
		}
		if (sign == 0 && count > 0 && s[length] == ' ' &&
		    sign_at(s + length + 1, dots, sizeof dots / sizeof *dots) > 0)
			sign = 1;
		if (sign == 0)
			return count >= 3 ? length : 0;
	}
}

/* Bytes of the separator at s, which stands in text, or 0. */
static size_t
separator_at(const char *text, const char *s, enum strength *strength)
{
	size_t length;

	if (*s == '\t') {
		*strength = TAB;
		return 1;
	}
	length = leader_at(s);
	if (length > 0) {
		*strength = LEADER;
		return length;
	}
	if (*s == ';' || *s == '|') {
		*strength = SEMICOLON;
		return 1;
	}
	length =
	    s > text && is_blank(s[-1]) ? sign_at(s, dashes, sizeof dashes / sizeof *dashes) : 0;
	if (length > 0 && is_blank(s[length])) {
		*strength = DASH;
		return length;
	}
	*strength = COMMA;
	if (*s == ',')
		return !(s > text && is_digit(s[-1]) && is_digit(s[1]));
	return *s == ':' && (is_blank(s[1]) || s[1] == '\0');
}

/* Takes the blanks off both ends. */
static void
trim(struct segment *segment)
{
	while (segment->start < segment->end && is_blank(*segment->start))
		segment->start++;
	while (segment->end > segment->start && is_blank(segment->end[-1]))
		segment->end--;
}

static void
add_segment(struct scan *scan, const char *start, const char *end, enum strength after)
{
	struct segment segment = {start, end, after, false, false};

	trim(&segment);
	if (segment.start < segment.end)
		scan->segment[scan->count++] = segment;
	else if (scan->count > 0 && after > scan->segment[scan->count - 1].after)
		scan->segment[scan->count - 1].after = after;
}

static void
split(struct scan *scan, const char *text)
{
	const char *start = text;
	enum strength strength;

	scan->segment =
	    arena_alloc(scan->reader->arena, (strlen(text) + 1) * sizeof(struct segment));
	for (const char *s = text; *s != '\0';) {
		size_t length = separator_at(text, s, &strength);

		if (length == 0) {
			s++;
			continue;
		}
		add_segment(scan, start, s, strength);
		s += length;
		start = s;
	}
	add_segment(scan, start, text + strlen(text), NO_SEPARATOR);
}

/* ---- the quantity ---- */

static const char *
copy(const struct scan *scan, const char *start, const char *end)
{
	char *text = arena_copy(scan->reader->arena, start, (size_t)(end - start));

	text_fold_blanks(text);
	return text;
}

static bool
is_pieces(const struct scan *scan, const char *text)
{
	int64_t pieces;

	return loose_pieces(text, scan->reader->mark, &pieces) == NULL;
}

/* The quantity that a stretch is in whole, if it is marked as one; else NULL. */
static const char *
marked(const struct scan *scan, const char *start, const char *end)
{
	const char *text = copy(scan, start, end);
	size_t length = strlen(text);
	bool round = length > 2 && text[0] == '(' && text[length - 1] == ')';
	bool square = length > 2 && text[0] == '[' && text[length - 1] == ']';

	if (round || square) {
		text = copy(scan, text + 1, text + length - 1);
		return is_pieces(scan, text) ? text : NULL;
	}
	if (length == 0 || (is_digit(text[0]) && is_digit(text[length - 1])))
		return NULL;
	return is_pieces(scan, text) ? text : NULL;
}

/* Digits at s, up to end. */
static size_t
digits(const char *s, const char *end)
{
	size_t count = 0;

	while (s + count < end && is_digit(s[count]))
		count++;
	return count;
}

static const char *
word_end(const char *s, const char *end)
{
	while (s < end && !is_blank(*s))
		s++;
	return s;
}

static const char *
word_start(const char *s, const char *start)
{
	while (s > start && !is_blank(s[-1]))
		s--;
	return s;
}

static const char *
past_blanks(const char *s, const char *end)
{
	while (s < end && is_blank(*s))
		s++;
	return s;
}

static const char *
before_blanks(const char *s, const char *start)
{
	while (s > start && is_blank(s[-1]))
		s--;
	return s;
}

static void
found(struct scan *scan, const char *qty)
{
	if (scan->qty != NULL)
		scan->two = true;
	scan->qty = qty;
}

/* "2 x 4": may the stretch, two words, with the word behind it be a size? */
static bool
starts_as_size(const char *start, const char *end, const char *next, const char *last)
{
	size_t first = digits(start, end), second = digits(next, last);
	const char *times = past_blanks(start + first, end);

	return first <= 2 && times > start + first &&
	       (*times == 'x' || *times == 'X' || *times == TIMES_SIGN[0]) && second > 0 &&
	       second <= 2 && word_end(next, last) == next + second;
}

/* "of" behind a quantity is no part of a name. */
static const char *
past_of(const char *s, const char *end)
{
	return end - s > 3 && strncmp(s, "of ", 3) == 0 ? past_blanks(s + 3, end) : s;
}

/* Takes a marked quantity of one or two words off the start of a segment. */
static void
take_start(struct scan *scan, struct segment *segment)
{
	const char *one = word_end(segment->start, segment->end);
	const char *two = word_end(past_blanks(one, segment->end), segment->end);
	const char *ends[] = {two, one};

	for (size_t i = 0; i < 2; i++) {
		const char *qty = marked(scan, segment->start, ends[i]);
		const char *next = past_blanks(ends[i], segment->end);

		if (qty == NULL ||
		    (i == 0 && starts_as_size(segment->start, ends[i], next, segment->end)))
			continue;
		found(scan, qty);
		segment->start = past_of(next, segment->end);
		return;
	}
}

/* "plate 2 x4", "black 1 200 pcs": does the word before the quantity belong to it, or not? */
static bool
is_unsure(const char *word, const char *end, const char *qty)
{
	size_t count = digits(word, end);

	if (count == 0 || word + count != end)
		return false;
	return is_digit(*qty) ? count <= 3 && digits(qty, qty + strlen(qty)) == 3 : count <= 2;
}

static void
take_end(struct scan *scan, struct segment *segment)
{
	const char *one = word_start(segment->end, segment->start);
	const char *two = word_start(before_blanks(one, segment->start), segment->start);
	const char *starts[] = {two, one};

	for (size_t i = 0; i < 2; i++) {
		const char *qty = marked(scan, starts[i], segment->end);
		const char *end = before_blanks(starts[i], segment->start);

		if (qty == NULL || (*starts[i] != '(' && *starts[i] != '[' &&
		                    is_unsure(word_start(end, segment->start), end, qty)))
			continue;
		found(scan, qty);
		segment->end = end;
		return;
	}
}

static bool
is_number(const struct scan *scan, const struct segment *segment)
{
	return is_digit(segment->start[0]) && is_digit(segment->end[-1]) &&
	       is_pieces(scan, copy(scan, segment->start, segment->end));
}

/* A bare number that is the first or the last segment, where none is marked. */
static void
take_bare(struct scan *scan)
{
	struct segment *first = &scan->segment[0], *last = &scan->segment[scan->count - 1];

	if (scan->count < 2)
		return;
	if (is_number(scan, first)) {
		found(scan, copy(scan, first->start, first->end));
		first->taken = true;
	}
	if (is_number(scan, last)) {
		found(scan, copy(scan, last->start, last->end));
		last->taken = true;
	}
}

/* Lets go of the segments that were the quantity; of separators that then meet the stronger
 * stays. */
static void
close_up(struct scan *scan)
{
	size_t kept = 0;

	for (size_t i = 0; i < scan->count; i++) {
		struct segment *segment = &scan->segment[i];

		if (!segment->taken && segment->start < segment->end)
			scan->segment[kept++] = *segment;
		else if (kept > 0) {
			scan->segment[kept - 1].gap = true;
			if (segment->after > scan->segment[kept - 1].after)
				scan->segment[kept - 1].after = segment->after;
		}
	}
	scan->count = kept;
	if (kept > 0) {
		scan->segment[kept - 1].after = NO_SEPARATOR;
		scan->segment[kept - 1].gap = false;
	}
}

static const char *
take_quantity(struct scan *scan)
{
	for (size_t i = 1; i + 1 < scan->count; i++) {
		struct segment *segment = &scan->segment[i];
		const char *qty = marked(scan, segment->start, segment->end);

		segment->taken = qty != NULL;
		if (qty != NULL)
			found(scan, qty);
	}
	if (scan->count > 0)
		take_start(scan, &scan->segment[0]);
	if (scan->count > 0 &&
	    scan->segment[scan->count - 1].start < scan->segment[scan->count - 1].end)
		take_end(scan, &scan->segment[scan->count - 1]);
	if (scan->count > 0 && scan->qty == NULL)
		take_bare(scan);
	close_up(scan);
	if (scan->two)
		return two_quantities;
	return scan->qty == NULL ? no_quantity : NULL;
}

/* ---- part and color ---- */

static bool
has_digit(const char *text)
{
	return strpbrk(text, "0123456789") != NULL;
}

/* Is it a color that someone knows, by this name or by one that a rule makes of it? */
static bool
is_known(const struct scan *scan, const char *text)
{
	const struct loose_reader *reader = scan->reader;
	const char *name =
	    name_rules_apply(reader->rules, COLUMN_COLOR, text, reader->file, reader->line);

	return known_names_has(reader->known, COLUMN_COLOR, name, reader->file, reader->line) ||
	       known_names_has_fold(reader->known, COLUMN_COLOR, name);
}

/* Is there one pair of brackets, around all of it? */
static bool
is_bracketed(const char *text)
{
	size_t length = strlen(text);

	return length > 2 && strcspn(text + 1, "()[]") == length - 2 &&
	       ((text[0] == '(' && text[length - 1] == ')') ||
	        (text[0] == '[' && text[length - 1] == ']'));
}

/* A color without brackets around it, and without the full stop of a sentence where it is known so.
 */
static const char *
bare_color(const struct scan *scan, const char *text)
{
	size_t length = strlen(text);
	const char *bare;

	if (is_bracketed(text))
		return copy(scan, text + 1, text + length - 1);
	if (length < 2 || text[length - 1] != '.' || is_known(scan, text))
		return text;
	bare = copy(scan, text, text + length - 1);
	return is_known(scan, bare) ? bare : text;
}

static bool
is_color(const struct scan *scan, const char *text)
{
	return is_known(scan, bare_color(scan, text));
}

/* Without a separator: a known color at one end, or a number and a color. */
static const char *
split_words(const struct scan *scan, const char *text, struct loose_line *line)
{
	const char *end = text + strlen(text), *last = NULL, *first = NULL;
	const char *second = past_blanks(word_end(text, end), end);

	for (const char *s = second; last == NULL && s < end;
	     s = past_blanks(word_end(s, end), end))
		if (is_color(scan, s))
			last = s;
	for (const char *s = before_blanks(word_start(end, text), text); first == NULL && s > text;
	     s = before_blanks(word_start(s, text), text))
		if (is_color(scan, copy(scan, text, s)))
			first = s;
	if (last != NULL && first != NULL)
		return unsure_color;
	if (last == NULL && first == NULL) {
		if (second == end || word_end(second, end) != end || has_digit(second) ||
		    !has_digit(copy(scan, text, second)))
			return no_color;
		last = second;
	}
	line->part = last ? copy(scan, text, last) : copy(scan, first, end);
	line->color = bare_color(scan, last ? last : copy(scan, text, first));
	return NULL;
}

/* Segments from one to before another, with what stands between them. */
static const char *
stretch(const struct scan *scan, size_t from, size_t to)
{
	return copy(scan, scan->segment[from].start, scan->segment[to - 1].end);
}

/* Did the separator stand within quotes, as in "tile, round"? */
static bool
parts_quoted(const char *left, const char *right)
{
	return left[0] == '"' && (left[1] == '\0' || left[strlen(left) - 1] != '"') &&
	       right[strlen(right) - 1] == '"';
}

/* Parted before a segment: part and color, or the other way round. */
static const char *
split_before(const struct scan *scan, size_t at, struct loose_line *line)
{
	const char *left = stretch(scan, 0, at), *right = stretch(scan, at, scan->count);
	bool left_known = is_color(scan, left), right_known = is_color(scan, right);
	bool turned = left_known && !right_known;

	if (parts_quoted(left, right))
		return no_color;
	if (left_known == right_known &&
	    (scan->count > at + 1 || (has_digit(right) && !has_digit(left))))
		return unsure_color;
	line->part = turned ? right : left;
	line->color = bare_color(scan, turned ? left : right);
	return NULL;
}

/* Several of the strongest separator: a known color behind the last, or before the first. */
static const char *
split_several(const struct scan *scan, size_t first, size_t last, struct loose_line *line)
{
	bool starts = is_color(scan, stretch(scan, 0, first));
	bool ends = is_color(scan, stretch(scan, last, scan->count));

	if (starts == ends)
		return unsure_color;
	return split_before(scan, starts ? first : last, line);
}

/* Did the quantity stand between two segments, other than those before and at this one? */
static bool
has_gap_but(const struct scan *scan, size_t at)
{
	for (size_t i = 0; i < scan->count; i++)
		if (scan->segment[i].gap && i + 1 != at)
			return true;
	return false;
}

static const char *
split_names(const struct scan *scan, struct loose_line *line)
{
	enum strength strongest = NO_SEPARATOR;
	size_t first = 0, last = 0;

	for (size_t i = 0; i < scan->count; i++)
		if (scan->segment[i].after > strongest)
			strongest = scan->segment[i].after;
	if (strongest == NO_SEPARATOR)
		return split_words(scan, stretch(scan, 0, scan->count), line);
	for (size_t i = 0; i + 1 < scan->count; i++)
		if (scan->segment[i].after == strongest) {
			first = first == 0 ? i + 1 : first;
			last = i + 1;
		}
	if (has_gap_but(scan, first == last ? first : 0))
		return unsure_color;
	return first == last ? split_before(scan, first, line)
	                     : split_several(scan, first, last, line);
}

/* ---- the line ---- */

/* Past what marks an item of a list or a quoted mail: "> ", "- ", "[x] ", "3. ". */
static const char *
past_marker(const char *s)
{
	static const char *const bullets[] = {
	    "-",   "*",   "+",   "\u2022", "\u2013", "\u2014", "\u25E6", "\u25AA", "\u00B7",
	    "[ ]", "[x]", "[X]", "\u2610", "\u2611", "\u2612", "\u2713", "\u2714"};
	const char *end = s + strlen(s);
	size_t length;

	while (*s == '>')
		s = past_blanks(s + 1, end);
	for (;;) {
		length = sign_at(s, bullets, sizeof bullets / sizeof *bullets);
		if (length == 0 && (length = digits(s, end)) > 0)
			length = s[length] == '.' || s[length] == ')' ? length + 1 : 0;
		if (length == 0 || !is_blank(s[length]))
			return s;
		s = past_blanks(s + length, end);
	}
}

const char *
loose_line_read(const struct loose_reader *reader, const char *text, struct loose_line *line)
{
	struct scan scan = {.reader = reader};
	const char *why;

	*line = (struct loose_line){"", "", "", ""};
	split(&scan, past_marker(text));
	why = take_quantity(&scan);
	if (why != NULL)
		return why;
	line->qty = scan.qty;
	if (scan.count == 0)
		return no_name;
	if (!reader->with_code)
		return split_names(&scan, line);
	line->code = stretch(&scan, 0, scan.count);
	return scan.count == 1 && strchr(line->code, ' ') == NULL ? NULL : no_code;
}
