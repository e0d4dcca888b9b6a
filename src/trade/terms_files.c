#include "trade/terms_files.h"

#include "trade/currency.h"

#include <stdlib.h>

int32_t
terms_day(const char *name, const char *value)
{
	struct arena arena = {0};
	int32_t day;

	if (!date_parse(value, &day))
		opts_usage("--%s \"%s\" is no date: it is YYYY-MM-DD", name,
		           text_show(&arena, value));
	return day;
}

bool
terms_option(struct terms_options *options, struct opt_reader *reader, int key, const char *value)
{
	switch (key) {
	case 's':
		options->sellers = opts_file(reader, value);
		return true;
	case 'c':
		options->charges = opts_file(reader, value);
		return true;
	case 'x':
		options->rates = opts_file(reader, value);
		return true;
	case 'w':
		options->weights = opts_file(reader, value);
		return true;
	case 'C':
		options->currency = value;
		return true;
	case OPT_RATES_BASE:
		options->form.base = value;
		return true;
	case OPT_ON:
		options->form.on = terms_day("on", value);
		return true;
	default:
		return false;
	}
}

void
terms_options_end(const struct terms_options *options)
{
	if (options->rates == NULL && options->form.base != NULL)
		opts_usage("--rates-base says how to read a file of rates: give --rates");
	if (options->rates == NULL && options->form.on != NO_DATE)
		opts_usage("--on says which rates to use: give --rates");
	if (options->form.base != NULL)
		currency_option("rates-base", options->form.base);
}

void
terms_files_read(struct terms_files *files, const struct terms_options *options)
{
	*files = (struct terms_files){0};
	if (options->sellers != NULL) {
		files->sellers = mem_zero(1, sizeof *files->sellers);
		sellers_read(files->sellers, table_open(options->sellers, NULL));
	}
	if (options->charges != NULL)
		files->charges = charges_read(table_open(options->charges, NULL));
	if (options->rates != NULL) {
		files->rates = mem_zero(1, sizeof *files->rates);
		rates_read(files->rates, table_open(options->rates, NULL), &options->form);
	}
	if (options->weights != NULL) {
		files->weights = mem_zero(1, sizeof *files->weights);
		weights_read(files->weights, table_open(options->weights, NULL));
	}
}

void
terms_files_free(struct terms_files *files)
{
	if (files->sellers != NULL)
		sellers_free(files->sellers);
	charges_free(files->charges);
	if (files->rates != NULL)
		rates_free(files->rates);
	if (files->weights != NULL)
		weights_free(files->weights);
	free(files->sellers);
	free(files->rates);
	free(files->weights);
	*files = (struct terms_files){0};
}
