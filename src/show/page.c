#include "show/page.h"

#include <stddef.h>

/* clang-format off */

static const char *const style[] = {
	":root { color-scheme: light dark; --ink: #1b1b1b; --paper: #fff; --soft: #5c5c5c; --line: #c9c9c9;",
	"  --head: #eef1f4; --row: #f7f8fa; --mark: #0b57a4 }",
	"@media (prefers-color-scheme: dark) { :root { --ink: #e8e8e8; --paper: #161819; --soft: #a5a8ab;",
	"  --line: #44484b; --head: #25292c; --row: #1d2022; --mark: #8ec1f5 } }",
	"* { box-sizing: border-box }",
	"body { margin: 0; padding: 1rem; background: var(--paper); color: var(--ink);",
	"  font: 1rem/1.4 system-ui, sans-serif; -webkit-text-size-adjust: 100% }",
	"h1 { font-size: 1.4rem; margin: 0 0 1rem }",
	"h2 { font-size: 1.1rem; margin: 2rem 0 .5rem; overflow-wrap: anywhere }",
	".frame { overflow-x: auto }",
	"table { border-collapse: separate; border-spacing: 0; width: max-content; font-variant-numeric: tabular-nums }",
	"th, td { padding: .3rem .6rem; text-align: left; vertical-align: top; white-space: pre-wrap;",
	"  unicode-bidi: isolate }",
	"td { border-bottom: 1px solid var(--line); max-width: 30rem; overflow-wrap: break-word }",
	"th { background: var(--head); border-bottom: 2px solid var(--soft); padding: 0; white-space: nowrap }",
	"th button { all: unset; box-sizing: border-box; width: 100%; padding: .4rem .6rem; cursor: pointer;",
	"  font-weight: 600 }",
	"th button:focus-visible { outline: 2px solid var(--mark); outline-offset: -2px }",
	"th[aria-sort] button::after { content: \"\\2195\"; color: var(--soft); padding-left: .3em; opacity: .6 }",
	"th[aria-sort=ascending] button::after { content: \"\\2191\"; color: var(--mark); opacity: 1 }",
	"th[aria-sort=descending] button::after { content: \"\\2193\"; color: var(--mark); opacity: 1 }",
	".n { text-align: right; white-space: nowrap }",
	".n[data-pad]::after { content: attr(data-pad); visibility: hidden }",
	"tr { background: var(--paper) }",
	"tbody tr:nth-child(even) { background: var(--row) }",
	"th:first-child, td:first-child { position: sticky; left: 0; z-index: 1 }",
	"td:first-child { background: inherit }",
	".total td { font-weight: 700 }",
	"tfoot tr:first-child td { border-top: 2px solid var(--soft) }",
	"@media (max-width: 44rem) {",
	"  body { padding: .6rem }",
	"  table { width: auto }",
	"  .cards td:first-child, .cards th:first-child { position: static }",
	"  .cards, .cards thead, .cards tbody, .cards tfoot, .cards tr { display: block }",
	"  .cards thead tr { display: flex; flex-wrap: wrap; gap: .4rem; margin-bottom: .6rem }",
	"  .cards th { display: block; border: 1px solid var(--line); border-radius: .4rem; text-align: left }",
	"  .cards th button { padding: .45rem .6rem; font-weight: 400 }",
	"  .cards tbody tr, .cards tfoot tr { border: 1px solid var(--line); border-radius: .5rem;",
	"    margin: 0 0 .6rem; padding: .4rem .7rem }",
	"  .cards tfoot tr { border: 2px solid var(--soft) }",
	"  .cards td, .cards tfoot tr:first-child td { display: flex; justify-content: space-between; gap: 1rem;",
	"    border: 0; padding: .1rem 0; max-width: none; text-align: right; white-space: pre-wrap; overflow-wrap: anywhere }",
	"  .cards td:empty, .cards tfoot tr:first-child td:empty { display: none }",
	"  .cards td::before { content: attr(data-label); color: var(--soft); font-weight: 400; text-align: left;",
	"    overflow-wrap: normal }",
	"  .cards .n[data-pad]::after { content: none }",
	"}",
	"@media print {",
	"  body { padding: 0; font-size: 10pt }",
	"  tr { break-inside: avoid }",
	"  th[aria-sort] button::after { content: none }",
	"}",
};

static const char *const script[] = {
	"\"use strict\";",
	"// A click on a header sorts by it: upward, downward, then as the table came.",
	"const words = new Intl.Collator(undefined, {numeric: true});",
	"// Numbers are compared digit by digit, since they may have more than a machine's number holds.",
	"const number = text => {",
	"  const found = /^([-+]?)0*(\\d*)(?:\\.(\\d*?)0*)?$/.exec(text);",
	"  if (!found || !/\\d/.test(text)) return null;",
	"  const whole = found[2], rest = found[3] || \"\";",
	"  return {minus: found[1] === \"-\" && whole + rest !== \"\", whole, rest};",
	"};",
	"// Numbers as other countries write them, 1,234.5 and 1.234,5, where a column has nothing else.",
	"const written = [",
	"  {form: /^[-+]?(?:\\d+|[1-9]\\d{0,2}(?:,\\d{3})+)(?:\\.\\d+)?$/, read: text => text.replaceAll(\",\", \"\")},",
	"  {form: /^[-+]?(?:\\d+|[1-9]\\d{0,2}(?:\\.\\d{3})+)(?:,\\d+)?$/, read: text => text.replaceAll(\".\", \"\").replace(\",\", \".\")},",
	"];",
	"const reader = (head, texts) => head.classList.contains(\"n\") ? text => text",
	"  : written.find(one => texts.every(text => text === \"\" || one.form.test(text)))?.read;",
	"const order = (a, b) => a < b ? -1 : a > b ? 1 : 0;",
	"const size = (a, b) => a.whole.length - b.whole.length || order(a.whole, b.whole) || order(a.rest, b.rest);",
	"const numbers = (a, b) => a.minus !== b.minus ? (a.minus ? -1 : 1) : a.minus ? size(b, a) : size(a, b);",
	"for (const table of document.querySelectorAll(\"table\")) {",
	"  const body = table.tBodies[0], heads = [...table.tHead.rows[0].cells], rows = [...body.rows];",
	"  heads.forEach((head, at) => head.addEventListener(\"click\", () => {",
	"    const was = head.getAttribute(\"aria-sort\");",
	"    const now = was === \"none\" ? \"ascending\" : was === \"ascending\" ? \"descending\" : \"none\";",
	"    const turn = now === \"descending\" ? -1 : 1;",
	"    const read = reader(head, rows.map(row => row.cells[at].textContent));",
	"    for (const other of heads) other.setAttribute(\"aria-sort\", other === head ? now : \"none\");",
	"    const keyed = rows.map(row => {",
	"      const text = row.cells[at].textContent;",
	"      return {row, text, key: read ? number(read(text)) : text === \"\" ? null : text};",
	"    });",
	"    // What has no key comes last, both ways.",
	"    if (now !== \"none\") keyed.sort((a, b) =>",
	"      (a.key === null) - (b.key === null) ||",
	"      (a.key === null ? words.compare(a.text, b.text)",
	"        : turn * (read ? numbers(a.key, b.key) : words.compare(a.key, b.key))));",
	"    body.append(...keyed.map(one => one.row));",
	"  }));",
	"}",
};

#define STYLE_HASH  "sha256-4dXDBD1U0ohi7S0GGxI/VLX83SoN07/LX2U5gASPrOo="
#define SCRIPT_HASH "sha256-qn2rEWRyepCSatyqk21tzF2Qx7mame401zOaWLBaklw="

static const char *const start[] = {
	"<!DOCTYPE html>",
	"<html lang=\"en\">",
	"<head>",
	"<meta charset=\"utf-8\">",
	"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:;"
	" style-src '" STYLE_HASH "'; script-src '" SCRIPT_HASH "'; base-uri 'none'; form-action 'none'\">",
	"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">",
	"<meta name=\"referrer\" content=\"no-referrer\">",
	"<meta name=\"color-scheme\" content=\"light dark\">",
	"<link rel=\"icon\" href=\"data:,\">",
};

/* clang-format on */

static void
add_lines(struct text *out, const char *const *line, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		text_adds(out, line[i]);
		text_addc(out, '\n');
	}
}

void
page_start(struct text *out)
{
	add_lines(out, start, sizeof start / sizeof *start);
	text_adds(out, "<title>");
}

void
page_body(struct text *out)
{
	text_adds(out, "</title>\n<style>\n");
	add_lines(out, style, sizeof style / sizeof *style);
	text_adds(out, "</style>\n</head>\n<body>\n");
}

void
page_end(struct text *out)
{
	text_adds(out, "<script>\n");
	add_lines(out, script, sizeof script / sizeof *script);
	text_adds(out, "</script>\n</body>\n</html>\n");
}
