#include "show/forms.h"

const char *
form_heading(struct arena *arena, const struct view *view, const struct view_block *block)
{
	struct text out = {0};
	const char *heading;

	if (view->group == NULL)
		return NULL;
	if (block->name == NULL)
		return "TOTAL";
	text_adds(&out, view->group);
	text_adds(&out, ": ");
	text_adds(&out, *block->name != '\0' ? block->name : "(empty)");
	heading = arena_copy(arena, out.bytes, out.length);
	text_free(&out);
	return heading;
}
