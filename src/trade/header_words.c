#include "trade/header_words.h"

#include <string.h>

#define LOTS  (LIST_NEED | LIST_STOCK)
#define EVERY (LOTS | LIST_OFFERS)

/*
 * English, German, French, Spanish, Italian, Dutch, Portuguese, Polish, Czech, Swedish, Danish,
 * Norwegian and Finnish, about in that order. A word that is ordinary for two columns (amount,
 * number, code, reference, value, total) is in neither: such a header is a matter for a map.
 */
const struct list_column_rule list_columns[LIST_COLUMNS] = {
    [COLUMN_SELLER] = {"seller", LIST_OFFERS, LIST_OFFERS, FIELD_NAME, true,
                       "seller|seller name|shop|shop name|store|store name|vendor|supplier|dealer|"
                       "merchant|verkaufer|verkaeufer|handler|haendler|anbieter|lieferant|laden|"
                       "vendeur|boutique|magasin|fournisseur|marchand|vendedor|tienda|proveedor|"
                       "venditore|negozio|fornitore|verkoper|winkel|leverancier|aanbieder|loja|"
                       "fornecedor|sprzedawca|sprzedajacy|sklep|dostawca|prodejce|prodavajici|"
                       "obchod|dodavatel|saljare|butik|leverantor|saelger|forhandler|leverandor|"
                       "selger|butikk|myyja|kauppa|toimittaja"},
    [COLUMN_CODE] = {"code", EVERY, 0, FIELD_NAME, false,
                     "code|order code|order no|order number|ordering code|order id|bestellcode|"
                     "bestellnummer|bestellnr|bestell nr|code commande|code de commande|"
                     "numero de commande|codigo|codigo de pedido|numero de pedido|codice|"
                     "codice ordine|codice d ordine|bestelcode|bestelnummer|bestelnr|"
                     "codigo de encomenda|kod|kod zamowienia|numer zamowienia|objednaci kod|"
                     "objednaci cislo|bestallningsnummer|bestallningskod|bestillingsnummer|"
                     "tilauskoodi|tilausnumero"},
    [COLUMN_PART] = {"part", EVERY, EVERY, FIELD_NAME, true,
                     "part|parts|part no|part nr|part num|part number|part id|part code|partno|"
                     "partnumber|item|item no|item nr|item number|item id|item code|article|"
                     "article no|article number|teil|teile|teile nr|teilenr|teilenummer|teil nr|"
                     "teilnr|teilnummer|teile nummer|bauteil|bauteile|bauteilnummer|artikel|"
                     "artikel nr|artikelnr|artikelnummer|piece|no de piece|n de piece|"
                     "numero de piece|numero piece|reference piece|code piece|no d article|"
                     "numero d article|pieza|no de pieza|n de pieza|numero de pieza|"
                     "codigo de pieza|articulo|pezzo|numero pezzo|n pezzo|codice pezzo|articolo|"
                     "codice articolo|onderdeel|onderdelen|onderdeelnummer|onderdeelnr|"
                     "onderdeel nr|peca|numero da peca|codigo da peca|artigo|czesc|numer czesci|"
                     "nr czesci|artykul|dil|cislo dilu|soucastka|del|delnummer|delnr|del nr|"
                     "artikelkod|varenummer|varenr|vare|osa|osanumero"},
    [COLUMN_COLOR] = {"color", EVERY, EVERY, FIELD_NAME, true,
                      "color|colour|colors|colours|color name|colour name|farbe|farben|farbname|"
                      "farbbezeichnung|couleur|couleurs|coloris|nom de couleur|"
                      "nom de la couleur|colore|colori|nome colore|nombre del color|"
                      "nombre de color|kleur|kleuren|kleurnaam|cor|cores|nome da cor|kolor|"
                      "nazwa koloru|barva|nazev barvy|farg|fargnamn|farve|farvenavn|farge|"
                      "fargenavn|vari"},
    [COLUMN_QTY] = {"qty", EVERY, EVERY, FIELD_PIECES, false,
                    "qty|qnty|quantity|quantities|qty needed|quantity needed|needed qty|"
                    "needed quantity|qty required|quantity required|required qty|"
                    "required quantity|available|qty available|available qty|quantity available|"
                    "available quantity|count|piece count|pieces|pcs|no of pieces|"
                    "number of pieces|how many|anzahl|menge|stuck|stueck|stk|stuckzahl|"
                    "stueckzahl|quantite|quantites|qte|nombre|nbre|nb|nombre de pieces|"
                    "nb de pieces|quantite disponible|cantidad|cant|unidades|"
                    "numero de piezas|cantidad disponible|quantita|q ta|qta|numero di pezzi|"
                    "n pezzi|quantita disponibile|aantal|hoeveelheid|stuks|aantal stuks|"
                    "quantidade|qtd|qtde|numero de pecas|ilosc|liczba|sztuk|sztuki|szt|"
                    "liczba sztuk|pocet|mnozstvi|pocet kusu|ks|antal|kvantitet|antal bitar|"
                    "maengde|antall|mengde|maara|kpl|lukumaara"},
    [COLUMN_PRICE] = {"price", LIST_OFFERS, LIST_OFFERS, FIELD_DECIMAL, true,
                      "price|unit price|price each|price ea|price per piece|price per unit|"
                      "price piece|piece price|preis|einzelpreis|stuckpreis|stueckpreis|"
                      "preis pro stuck|preis pro stueck|preis je stuck|preis je stueck|"
                      "preis stuck|preis stueck|preis stk|prix|prix unitaire|prix par piece|"
                      "prix piece|prix a la piece|precio|precio unitario|precio por pieza|"
                      "precio por unidad|precio pieza|prezzo|prezzo unitario|prezzo al pezzo|"
                      "prezzo per pezzo|prijs|stukprijs|prijs per stuk|eenheidsprijs|preco|"
                      "preco unitario|preco por peca|cena|cena jednostkowa|cena za sztuke|"
                      "cena za szt|cena za kus|jednotkova cena|pris|styckpris|pris per styck|"
                      "a pris|stykpris|enhedspris|pris pr stk|stykkpris|enhetspris|hinta|"
                      "yksikkohinta|kappalehinta"},
    [COLUMN_CURRENCY] = {"currency", LIST_OFFERS, 0, FIELD_NAME, true,
                         "currency|currency code|wahrung|waehrung|devise|monnaie|moneda|divisa|"
                         "valuta|munteenheid|moeda|waluta|mena|valuutta"},
    [COLUMN_CONDITION] = {"condition", EVERY, 0, FIELD_NAME, true,
                          "condition|zustand|etat|estado|condizione|condizioni|conditie|staat|"
                          "condicao|stan|skick|tilstand|kunto"},
    [COLUMN_CLASS] = {"class", LIST_OFFERS, 0, FIELD_NAME, true,
                      "class|class of goods|warenklasse|klasse|classe|clase|klasa|trida|klass|"
                      "luokka"},
    [COLUMN_STEP] = {"step", LIST_OFFERS, 0, FIELD_PIECES, true,
                     "step|multiple|multiples|multiple of|multiples of|sold in multiples of|"
                     "vielfaches|schrittweite|multiple de|par multiples de|multiplo|multiplos|"
                     "multiplo di|multiplo de|veelvoud|wielokrotnosc|nasobek|multipel"},
    [COLUMN_LEAST] = {"least", LIST_OFFERS, 0, FIELD_PIECES, true,
                      "least|min qty|min quantity|minimum qty|minimum quantity|minimal quantity|"
                      "from qty|from quantity|mindestmenge|mindestabnahme|ab menge|"
                      "quantite minimum|quantite minimale|qte min|qte minimum|cantidad minima|"
                      "quantita minima|minimum aantal|minimumaantal|minimale afname|"
                      "quantidade minima|minimalna ilosc|minimalni mnozstvi|minsta antal|"
                      "minimumsantal|minste antall|vahimmaismaara"},
    [COLUMN_LISTING] = {"listing", LIST_OFFERS, 0, FIELD_NAME, true,
                        "listing|listing id|listing no|listing number"},
    [COLUMN_LOT] = {"lot", LIST_NEED, 0, FIELD_NAME, true, "lot|lot name"},
    [COLUMN_GROUP] = {"group", LOTS, 0, FIELD_NAME, true,
                      "group|sub assembly|subassembly|gruppe|baugruppe|groupe|sous ensemble|grupo|"
                      "subconjunto|gruppo|sottogruppo|groep|grupa|skupina|grupp|ryhma"},
    [COLUMN_MODEL] = {"model", LOTS, 0, FIELD_NAME, true,
                      "model|modell|modele|modelo|modello|malli"},
    [COLUMN_PLACE] = {"place", LOTS, 0, FIELD_NAME, true,
                      "place|location|storage place|storage location|lagerort|lagerplatz|"
                      "emplacement|lugar|ubicacion|posto|luogo|plaats|opslagplaats|local|"
                      "localizacao|miejsce|misto|plats|lagerplats|sted|lagersted|paikka"},
    [COLUMN_NOT_COLOR] = {"not_color", LIST_NEED, 0, FIELD_PATTERN, true, "not color|not colour"},
    [COLUMN_PENALTY] = {"penalty", LIST_NEED, 0, FIELD_DECIMAL, true, "penalty"},
    [COLUMN_WORTH] = {"worth", LIST_NEED, 0, FIELD_DECIMAL, true, "worth"},
    [COLUMN_TOGETHER] = {"together", LIST_NEED, 0, FIELD_NAME, true, "together"},
    [COLUMN_GRAMS] = {"grams", EVERY, 0, FIELD_DECIMAL, true,
                      "grams|gram|grams each|weight g|weight in g|weight grams|weight in grams|"
                      "gewicht g|gewicht in g|gramm|poids g|poids en g|grammes|gramme|peso g|"
                      "peso en g|peso in g|peso em g|gramos|grammi|gramas|gewicht in gram|waga g|"
                      "gramy|hmotnost g|vikt g|vikt i g|vaegt g|vekt g|paino g"},
    [COLUMN_NOTE] = {"note", EVERY, 0, FIELD_REMARK, false,
                     "note|notes|notiz|notizen|nota|notas|notitie|notatka|poznamka|anteckning"},
};

enum list_column
list_column_named(const char *name)
{
	enum list_column column = 0;

	while (column < LIST_COLUMNS && !text_equal_fold(name, list_columns[column].name))
		column++;
	return column;
}

const char *
list_column_nearest(const char *name)
{
	const char *names[LIST_COLUMNS];

	for (size_t i = 0; i < LIST_COLUMNS; i++)
		names[i] = list_columns[i].name;
	return text_nearest(name, names, LIST_COLUMNS);
}

/* The letters of U+00C0 to U+017F without their accents, in order, "|" between them: Latin-1
 * Supplement and Latin Extended-A of the Unicode standard. */
static const char latin_bases[] =
    "a|a|a|a|a|a|ae|c|e|e|e|e|i|i|i|i|d|n|o|o|o|o|o| |o|u|u|u|u|y|th|ss|"
    "a|a|a|a|a|a|ae|c|e|e|e|e|i|i|i|i|d|n|o|o|o|o|o| |o|u|u|u|u|y|th|y|"
    "a|a|a|a|a|a|c|c|c|c|c|c|c|c|d|d|d|d|e|e|e|e|e|e|e|e|e|e|g|g|g|g|"
    "g|g|g|g|h|h|h|h|i|i|i|i|i|i|i|i|i|i|ij|ij|j|j|k|k|k|l|l|l|l|l|l|l|"
    "l|l|l|n|n|n|n|n|n|n|n|n|o|o|o|o|o|o|oe|oe|r|r|r|r|r|r|s|s|s|s|s|s|"
    "s|s|t|t|t|t|t|t|u|u|u|u|u|u|u|u|u|u|u|u|w|w|y|y|y|z|z|z|z|z|z|s|";

/* Adds the base of a letter of two bytes, the second of them given with the first's low bits. */
static void
add_latin_base(struct text *normal, unsigned point)
{
	const char *base = latin_bases;

	for (unsigned at = 0xC0; at < point; at++)
		base = strchr(base, '|') + 1;
	text_add(normal, base, (size_t)(strchr(base, '|') - base));
}

/* Adds the character at s in normal form; returns its bytes. */
static size_t
add_normal(struct text *normal, const unsigned char *s)
{
	unsigned point;

	if (s[0] < 0x80) {
		bool upper = s[0] >= 'A' && s[0] <= 'Z';
		bool plain = (s[0] >= 'a' && s[0] <= 'z') || (s[0] >= '0' && s[0] <= '9');

		if (s[0] == '#')
			text_adds(normal, " no ");
		else
			text_addc(normal, (char)(upper ? s[0] - 'A' + 'a' : plain ? s[0] : ' '));
		return 1;
	}
	if (s[0] < 0xC3 || s[0] >= 0xE0) { /* U+0080 to U+00BF, and longer ones: signs */
		size_t bytes = s[0] < 0xE0 ? 2 : s[0] < 0xF0 ? 3 : 4;

		if (bytes > 2 && s[0] > 0xE2 && s[0] < 0xF0)
			text_add(normal, (const char *)s, bytes); /* another script: kept */
		else
			text_addc(normal, ' ');
		return bytes;
	}
	point = ((unsigned)(s[0] & 0x1F) << 6) | (s[1] & 0x3FU);
	if (point <= 0x17F)
		add_latin_base(normal, point);
	else if (point < 0x300 || point > 0x36F) /* a combining accent adds nothing */
		text_add(normal, (const char *)s, 2);
	return 2;
}

/* Cuts a currency code off the end: it says in what the column is, not what it is. */
static void
cut_currency(struct text *normal)
{
	static const char *const codes[] = {"aud", "cad", "chf", "czk", "dkk", "eur", "gbp",
	                                    "huf", "jpy", "nok", "nzd", "pln", "sek", "usd"};

	if (normal->length < 5 || normal->bytes[normal->length - 4] != ' ')
		return;
	for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
		if (strcmp(normal->bytes + normal->length - 3, codes[i]) == 0) {
			normal->length -= 4;
			normal->bytes[normal->length] = '\0';
			return;
		}
}

void
header_normal(struct text *normal, const char *header)
{
	const unsigned char *s = (const unsigned char *)header;

	text_add(normal, "", 0);
	while (*s != '\0')
		s += add_normal(normal, s);
	text_fold_blanks(normal->bytes);
	normal->length = strlen(normal->bytes);
	cut_currency(normal);
}

bool
header_is_word_of(enum list_column column, const char *normal)
{
	const char *words = list_columns[column].words;
	size_t length = strlen(normal);

	while (length > 0) {
		size_t word = strcspn(words, "|");

		if (word == length && memcmp(words, normal, length) == 0)
			return true;
		if (words[word] == '\0')
			break;
		words += word + 1;
	}
	return false;
}
