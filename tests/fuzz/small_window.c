#include "small_window.h"

/* As large as a byte-order mark and a "sep=;" line, which are looked for in the first one. */
#define TABLE_WINDOW 10

#define table_option         small_option
#define table_open           small_open
#define table_close          small_close
#define table_make           small_make
#define table_make_row       small_make_row
#define table_name           small_name
#define table_bytes          small_bytes
#define table_columns        small_columns
#define table_header         small_header
#define table_header_as_read small_header_as_read
#define table_header_line    small_header_line
#define table_faults         small_faults
#define table_arena          small_arena
#define table_next           small_next
#define table_next_any       small_next_any
#define table_column         small_column
#define table_need_column    small_need_column
#define table_headers_seen   small_headers_seen
#define table_end            small_end
#define row_field            small_row_field

#include "../../src/table/table.c"

const struct table_reader small_window = {
    .open = table_open,
    .close = table_close,
    .next_any = table_next_any,
    .columns = table_columns,
    .header_as_read = table_header_as_read,
    .faults = table_faults,
};
