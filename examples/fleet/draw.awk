# Draws designs and the market they share, the same ones everywhere from the same seed. All of it is
# invented: designs, part codes, colors, sellers, prices, charges.
#
# usage: awk -v dir=DIR [-v designs=1000] [-v lots=8] [-v parts=240] [-v sellers=12] [-v share=40] [-v seed=1]
#            -f draw.awk        DIR/designs and DIR/market are there already
#
# lots: how many a design has on average. parts: different parts in different colors that are on the market.
# share: how many of 100 of them a seller has. One design in a hundred or so is spoilt, one asks for a part
# that nobody has: a fleet meets both every night.

# A linear congruential generator with the numbers of Park and Miller (Communications of the ACM 31,
# 1988); awk's own rand() differs from one awk to the next.
function below(n) {
    state = (state * 16807) % 2147483647
    return int(state / 7) % n
}

# A price in thousandths, as text.
function money(milli) {
    return sprintf("%d.%03d", int(milli / 1000), milli % 1000)
}

# Few of most parts, many of some.
function quantity() {
    return 1 + below(6) + (below(5) ? 0 : below(30))
}

# The part and color that number i stands for.
function lot(i) {
    return sprintf("%c-%03d,%s", 65 + i % 20, 100 + int(i / colors), color[1 + i % colors])
}

function draw_market(  i, s, milli, seller, offers) {
    offers = dir "/market/offers.csv"
    print "seller,part,color,qty,price,least,listing" >offers
    print "seller,route,currency,minimum,tax,tax_on,tariff" >(dir "/market/sellers.csv")
    for (s = 0; s < sellers; s++) {
        seller = adjective[1 + s % adjectives] " " noun[1 + int(s / adjectives) % nouns]
        if (s >= adjectives * nouns)
            seller = seller " " 1 + int(s / (adjectives * nouns))
        printf "%s,market,EUR,%d,0,,letter\n", seller, below(3) ? 0 : 1 + below(5) >(dir "/market/sellers.csv")
        for (i = 0; i < parts; i++) {
            if (below(100) >= share)
                continue
            milli = 20 + (i * 7919) % 400
            milli = int(milli * (70 + below(80)) / 100)
            if (below(5)) {
                printf "%s,%s,%d,%s,,\n", seller, lot(i), 1 + below(60), money(milli) >offers
            } else {
                printf "%s,%s,90,%s,,B%d\n", seller, lot(i), money(milli), i >offers
                printf "%s,%s,90,%s,10,B%d\n", seller, lot(i), money(int(milli * 9 / 10)), i >offers
            }
        }
    }
    print "seller,tariff,class,charge,basis,from,over,amount,percent" >(dir "/market/charges.csv")
    print ",letter,,shipping,value,0,,1.90," >(dir "/market/charges.csv")
    print ",letter,,shipping,value,5,,2.90," >(dir "/market/charges.csv")
    print ",letter,,shipping,value,20,,0," >(dir "/market/charges.csv")
}

function draw_design(number,  file, count, i, first) {
    file = sprintf("%s/designs/%s-%04d.csv", dir, model[1 + below(models)], number)
    count = 1 + int(lots / 2) + below(lots)
    print "part,color,qty" >file
    # Different parts in a row, from somewhere on: a step that shares no factor with their number.
    first = below(parts)
    for (i = 0; i < count && i < parts; i++)
        printf "%s,%d\n", lot((first + i * step) % parts), quantity() >file
    if (number % 97 == 0)
        print "B-001,moss,a few" >file
    if (number % 89 == 0)
        print "Q-999,moss,2" >file
    close(file)
}

function common(a, b) {
    return b ? common(b, a % b) : a
}

BEGIN {
    if (!dir) {
        print "draw.awk: where to? -v dir=DIR" >"/dev/stderr"
        exit 2
    }
    if (!designs) designs = 1000
    if (!lots) lots = 8
    if (!parts) parts = 240
    if (!sellers) sellers = 12
    if (!share) share = 40
    state = seed ? seed : 1
    colors = split("slate chalk oak fog fern moss dune plum", color, " ")
    adjectives = split("Amber Birch Cobalt Dusky Elder Flint Gorse Hazel", adjective, " ")
    nouns = split("Bench Bin Crate Drawer Hamper Jar Shelf Tray", noun, " ")
    models = split("barge crane ferry kiln lock mill pier shed sluice weir", model, " ")
    for (step = 7; common(step, parts) != 1; step++)
        ;
    draw_market()
    for (i = 1; i <= designs; i++)
        draw_design(i)
}
