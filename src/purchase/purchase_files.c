#include "purchase/purchase_files.h"

#include "base/err.h"
#include "trade/currency.h"

#include <stdlib.h>
#include <string.h>

/* ---- options ---- */

int64_t
option_whole(const char *name, const char *value, int64_t least)
{
	int64_t whole;

	if (dec_parse_qty(value, &whole) != DEC_OK || whole < least)
		opts_usage("--%s takes a whole number from %lld on", name, (long long)least);
	return whole;
}

int64_t
option_money(const char *name, const char *value)
{
	int64_t micro;
	enum dec_fault why = dec_parse_micro(value, false, &micro);

	if (why != DEC_OK)
		opts_usage("--%s %s", name, dec_fault_text(why));
	return micro;
}

static void
add_file(const char ***files, size_t *count, size_t *room, const char *value)
{
	MEM_ROOM(*files, *count, *room);
	(*files)[(*count)++] = value;
}

/* One file twice would count its pieces twice. */
static void
check_stock_once(const struct purchase_options *options)
{
	for (size_t i = 1; i < options->stock_files; i++)
		for (size_t k = 0; k < i; k++)
			if (strcmp(options->stock[i], options->stock[k]) == 0)
				opts_usage("stock %s is given twice, its pieces would count twice",
				           options->stock[i]);
}

uint64_t
option_effort(const char *value)
{
	uint64_t effort = 0;

	for (const char *s = value; *s != '\0'; s++)
		if (*s < '0' || *s > '9' || __builtin_mul_overflow(effort, UINT64_C(10), &effort) ||
		    __builtin_add_overflow(effort, (uint64_t)(*s - '0'), &effort))
			effort = 0, s = value + strlen(value) - 1;
	if (effort == 0)
		opts_usage("--effort takes a whole number from 1 on");
	return effort;
}

void
purchase_options_start(struct purchase_options *options)
{
	*options = (struct purchase_options){.max_orders = NO_LIMIT, .stay = NOT_GIVEN};
}

bool
purchase_option(struct purchase_options *options, struct opt_reader *reader, int key,
                const char *value)
{
	switch (key) {
	case 'o':
		add_file(&options->offers, &options->offer_files, &options->offer_room,
		         opts_file(reader, value));
		return true;
	case 'k':
		add_file(&options->stock, &options->stock_files, &options->stock_room,
		         opts_file(reader, value));
		return true;
	case OPT_KEEP:
		options->keep = opts_file(reader, value);
		return true;
	case OPT_WAS:
		options->was = opts_file(reader, value);
		return true;
	case OPT_STAY:
		options->stay = option_money("stay", value);
		return true;
	case OPT_ORDER_COST:
		options->order_cost = option_money("order-cost", value);
		return true;
	case OPT_MAX_ORDERS:
		options->max_orders = (size_t)option_whole("max-orders", value, 0);
		return true;
	case OPT_ROUTE:
		options->route = value;
		return true;
	case OPT_WITHOUT:
		options->without = value;
		return true;
	default:
		return terms_option(&options->terms, reader, key, value);
	}
}

void
purchase_options_end(const struct purchase_options *options)
{
	if (options->offer_files == 0)
		opts_usage("no offers: -o FILE");
	if (options->terms.sellers == NULL)
		opts_usage("no sellers: -s FILE");
	if (options->stay != NOT_GIVEN && options->keep == NULL && options->was == NULL)
		opts_usage("--stay counts against a plan of before: --keep FILE or --was FILE");
	if (options->was != NULL && options->stay == NOT_GIVEN)
		opts_usage("--was FILE is for --stay M, which is missing");
	terms_options_end(&options->terms);
	check_stock_once(options);
}

void
purchase_options_free(struct purchase_options *options)
{
	free(options->offers);
	free(options->stock);
}

/* ---- reading ---- */

/* The sellers of the plan before, from a file of its own. */
static void
add_old_sellers(struct purchase_files *files, const char *file)
{
	struct orders orders = {0};

	orders_read(&orders, table_open(file, NULL));
	for (size_t i = 0; i < orders.count; i++)
		if (!order_line_is_owned(&orders.row[i]))
			names_add(&files->old_sellers, orders.row[i].seller);
	orders_free(&orders);
}

static void
settle_currency(struct purchase_files *files, const struct purchase_options *options)
{
	for (size_t s = 0; s < files->offers.sellers; s++)
		terms_uses(&files->book, files->offers.seller[s], files->offers.currency[s],
		           &files->used);
	for (size_t i = 0; i < files->kept.orders.count; i++)
		if (files->kept.state[i] != KEPT_AFRESH)
			terms_uses(&files->book, files->kept.orders.row[i].seller,
			           files->kept.orders.row[i].currency, &files->used);
	files->book.home = terms_home(options->terms.currency,
	                              (const char *const *)files->used.name, files->used.count);
	if (!currency_decimals(files->book.home, &files->home_decimals))
		files->home_decimals = 2;
	offers_settle(&files->offers, files->terms.sellers, files->book.home);
}

static bool
seller_known(const struct purchase_files *files, const char *name)
{
	for (size_t s = 0; s < files->offers.sellers; s++)
		if (strcmp(files->offers.seller[s], name) == 0)
			return true;
	for (size_t i = 0; i < files->terms.sellers->count; i++)
		if (strcmp(files->terms.sellers->row[i].seller, name) == 0)
			return true;
	return false;
}

/* Names on the command line that no file knows are slips of the pen. */
static void
check_names(struct purchase_files *files, const struct purchase_options *options)
{
	bool known = options->route == NULL;

	for (size_t i = 0; i < files->withouts; i++)
		if (!seller_known(files, files->without[i])) {
			const char *near = text_nearest(files->without[i],
			                                (const char *const *)files->offers.seller,
			                                files->offers.sellers);

			die("--without: no seller is named \"%s\"%s%s%s",
			    text_show(&files->arena, files->without[i]),
			    near ? ": did you mean \"" : "",
			    near ? text_show(&files->arena, near) : "", near ? "\"?" : "");
		}
	for (size_t i = 0; i < files->terms.sellers->count && !known; i++)
		known = strcmp(files->terms.sellers->row[i].route, options->route) == 0;
	if (!known)
		die("--route: no seller of %s has the route \"%s\"", files->terms.sellers->file,
		    text_show(&files->arena, options->route));
}

void
purchase_files_read_market(struct purchase_files *files, const struct purchase_options *options,
                           const char **carry, size_t carried, bool quiet)
{
	files->without = text_list(&files->arena, options->without, &files->withouts);
	offers_carry(&files->offers, carry, carried);
	for (size_t i = 0; i < options->offer_files; i++)
		offers_read(&files->offers, table_open(options->offers[i], NULL));
	offers_end(&files->offers, quiet);
	terms_files_read(&files->terms, &options->terms);
	files->book = (struct tariff_book){.sellers = files->terms.sellers,
	                                   .charges = files->terms.charges,
	                                   .rates = files->terms.rates,
	                                   .order_cost = options->order_cost};
}

void
purchase_files_settle(struct purchase_files *files, const struct purchase_options *options)
{
	settle_currency(files, options);
	check_names(files, options);
}

void
purchase_files_read(struct purchase_files *files, const struct purchase_options *options,
                    const struct table_form *form, const char **carry, size_t carried, bool quiet)
{
	files->need = need_read(table_open("-", form));
	for (size_t i = 0; i < options->stock_files; i++)
		stock_read(&files->stock, table_open(options->stock[i], NULL));
	purchase_files_read_market(files, options, carry, carried, quiet);
	if (options->keep != NULL)
		kept_read(&files->kept, table_open(options->keep, NULL));
	if (options->was != NULL)
		add_old_sellers(files, options->was);
	for (size_t i = 0; i < files->kept.orders.count; i++)
		if (files->kept.state[i] == KEPT_AFRESH)
			names_add(&files->old_sellers, files->kept.orders.row[i].seller);
	purchase_files_settle(files, options);
}

void
purchase_files_free(struct purchase_files *files)
{
	need_free(files->need);
	stock_free(&files->stock);
	offers_free(&files->offers);
	kept_free(&files->kept);
	names_free(&files->old_sellers);
	terms_files_free(&files->terms);
	names_free(&files->used);
	arena_free(&files->arena);
}

struct purchase_input
purchase_files_input(struct purchase_files *files, const struct purchase_options *options)
{
	return (struct purchase_input){.need = files->need,
	                               .stock = &files->stock,
	                               .offers = &files->offers,
	                               .book = &files->book,
	                               .weights = files->terms.weights,
	                               .route = options->route,
	                               .without = files->without,
	                               .withouts = files->withouts,
	                               .kept = options->keep != NULL ? &files->kept : NULL,
	                               .old_sellers = &files->old_sellers,
	                               .stay = options->stay != NOT_GIVEN ? options->stay : 0,
	                               .max_orders = options->max_orders,
	                               .home_decimals = files->home_decimals};
}
