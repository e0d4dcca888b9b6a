/*
 * The floor that lot-norm is measured against: a loop of bare libcsv over stdin, which counts
 * fields and rows and does nothing else.
 */
#include <csv.h>
#include <stdio.h>

struct seen {
	size_t fields, rows;
};

static void
on_field(void *field, size_t length, void *data)
{
	(void)field;
	(void)length;
	((struct seen *)data)->fields++;
}

static void
on_row(int end, void *data)
{
	(void)end;
	((struct seen *)data)->rows++;
}

int
main(void)
{
	static char chunk[1 << 16];
	struct csv_parser parser;
	struct seen seen = {0};
	size_t got;

	if (csv_init(&parser, CSV_STRICT) != 0)
		return 2;
	while ((got = fread(chunk, 1, sizeof chunk, stdin)) > 0)
		if (csv_parse(&parser, chunk, got, on_field, on_row, &seen) != got)
			return 2;
	if (ferror(stdin) || csv_fini(&parser, on_field, on_row, &seen) != 0)
		return 2;
	csv_free(&parser);
	return printf("%zu rows, %zu fields\n", seen.rows, seen.fields) < 0 ? 2 : 0;
}
