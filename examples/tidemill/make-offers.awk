# How the invented market was drawn. Not part of the run: the three offers files that it wrote are
# in this directory, and are what run.sh reads.
#
#     awk -v dir=. -f make-offers.awk market.csv sellers.csv
#
# market.csv: part,color,milli,chance,pieces,class. milli is the usual price of a piece in
# thousandths of a euro, chance the percentage of sellers that have it, pieces the scale of what a
# seller has of it, class the class of goods at the maker's shop (empty: not sold there).
#
# Draws come from the multiplicative generator x <- 48271 x mod 2^31-1 (Park, Miller and Stockmeyer,
# Communications of the ACM 36 (1993), number 7, pages 108-110), so every awk draws the same market:
# all products stay below 2^53. Prices are whole thousandths throughout.

BEGIN {
    FS = ","
    seed = 1865
    if (dir == "")
        dir = "."
    offers_direct = dir "/offers-direct.csv"
    offers_market = dir "/offers-market.csv"
    offers_german = dir "/offers-german.csv"
    split("chalk kreide coal kohle slate schiefer fog nebel oak eiche straw stroh fern farn " \
        "plum pflaume mustard senf brass messing", word, " ")
    for (i = 1; i in word; i += 2)
        german[word[i]] = word[i + 1]
    german["harbour blue"] = "hafenblau"
    german["brick red"] = "ziegelrot"
    german["pale green"] = "blassgrün"
    german["lantern yellow"] = "laternengelb"
    german["clear glass"] = "klares Glas"
    split("Lagerfach Neun,Fach Siebzehn,Krümelkiste,Dachboden Drei,Regal am Fenster", word, ",")
    for (i = 1; i in word; i++)
        german_seller[word[i]] = 1
}

FNR == 1 { file++; next }

file == 1 { goods++; part[goods] = $1; color[goods] = $2; milli[goods] = $3; chance[goods] = $4
            pieces[goods] = $5; class[goods] = $6; next }

$2 == "market" { sellers++; seller[sellers] = $1; currency[sellers] = $3 }

END {
    draw_traits()
    draw_holdings()
    write_direct()
    write_market()
}

function roll(n) # a whole number from 0 to n-1
{
    seed = (seed * 48271) % 2147483647
    return seed % n
}

# How wide and how dear each seller is, in percent.
function draw_traits(    s)
{
    for (s = 1; s <= sellers; s++) {
        breadth[s] = 45 + roll(90)
        level[s] = (currency[s] == "GBP" ? 50 : 75) + roll(40)
    }
}

# Who has what: by chance, and at least four sellers for everything.
function draw_holdings(    g, s, n)
{
    for (g = 1; g <= goods; g++) {
        n = 0
        for (s = 1; s <= sellers; s++)
            if (roll(10000) < chance[g] * breadth[s]) {
                has[s, g] = 1
                n++
            }
        while (n < 4) {
            s = 1 + roll(sellers)
            if (!((s, g) in has)) {
                has[s, g] = 1
                n++
            }
        }
    }
}

function write_direct(    g, percent, step)
{
    print "seller,part,color,qty,price,condition,class,step" > offers_direct
    for (g = 1; g <= goods; g++) {
        if (class[g] == "")
            continue
        percent = (class[g] == "shelf" ? 46 : class[g] == "warehouse" ? 60 : 85) + roll(24)
        step = class[g] == "shelf" && milli[g] <= 50 ? 5 : ""
        print "Works Counter," part[g] "," color[g] ",," money(int(milli[g] * percent / 100), ".") \
            ",new," class[g] "," step > offers_direct
    }
}

function write_market(    s, g)
{
    print "seller,part,color,qty,price,condition,step,least,listing" > offers_market
    printf "\357\273\277Verkäufer;Teil;Farbe;Anzahl;Preis;Zustand;Gebinde;ab Stück;Angebot;Währung\r\n" > offers_german
    for (s = 1; s <= sellers; s++)
        for (g = 1; g <= goods; g++)
            if ((s, g) in has)
                draw_offer(s, g)
}

# One listing: its price, pieces and terms, and for about one in eight a price from some pieces on.
function draw_offer(s, g,    price, used, qty, step, least, breaks)
{
    used = part[g] !~ /[+]/ && roll(100) < 40
    price = int(milli[g] * level[s] * (75 + roll(60)) / 10000)
    if (used)
        price = int(price * 8 / 10)
    qty = 1 + int(pieces[g] * (30 + roll(150)) / 100)
    step = least = ""
    if (qty >= 20 && roll(100) < 8) {
        step = roll(2) ? 5 : 10
        qty -= qty % step
    } else if (qty >= 10 && roll(100) < 8)
        least = 4 + roll(3)
    breaks = qty >= 16 && step == "" && roll(100) < 25
    listing = breaks ? sprintf("T%03d", ++listings) : ""
    write_offer(s, g, qty, price, used, step, least)
    if (breaks)
        write_offer(s, g, qty, int(price * (80 + roll(12)) / 100), used, step, 10 + 5 * roll(2))
}

function write_offer(s, g, qty, price, used, step, least)
{
    if (currency[s] == "GBP")
        price = int(price * 1000 / 1168)
    else if (currency[s] == "SEK")
        price = int(price * 11325 / 10000) * 10
    if (price < 1)
        price = 1
    if (seller[s] in german_seller)
        printf "%s;%s;%s;%s Stk.;%s €;%s;%s;%s;%s;%s\r\n", seller[s], part[g], german[color[g]], qty, \
            money(price, ","), used ? "gebraucht" : "neu", step, least, listing, "EUR" > offers_german
    else
        print seller[s] "," part[g] "," color[g] "," qty "," money(price, ".") "," (used ? "used" : "new") \
            "," step "," least "," listing > offers_market
}

function money(thousandths, point)
{
    return sprintf("%d%s%03d", int(thousandths / 1000), point, thousandths % 1000)
}
