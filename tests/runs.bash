# shellcheck shell=bash
# A typical run of each program, for the tests that hold all of them to something. Small, invented.
#
#   runs_files [NAME]   writes the files that the runs read; NAME stands in every column that names a thing
#                       (seller, part, color, lot, group, model, class, tariff, charge, listing, place,
#                       rule, item), one row each beside plain ones. Orders, totals, shares and prices are
#                       what the programs make of the others.
#   ${RUNS[@]}          the names of the runs: program, or program:what
#   ${RUN_INPUT[$run]}  the file on stdin
#   ${RUN_WORDS[$run]}  the command, words without blanks
#   ${RUN_SIDES[$run]}  the side files, or directory, it writes; may be empty
#   run_of RUN          tries it (lib.bash: try)
#   runs_listed         all of them, a line each: run, file on stdin, command, parted by tabs
#
# Every run is done, exit status 0.

# shellcheck disable=SC2034 # for those who load this
declare -gA RUN_INPUT=() RUN_WORDS=() RUN_SIDES=()
declare -ga RUNS=()

# a_run NAME INPUT SIDES COMMAND...
a_run() {
	RUNS+=("$1")
	# shellcheck disable=SC2034
	RUN_INPUT[$1]=$2 RUN_SIDES[$1]=$3
	shift 3
	RUN_WORDS[${RUNS[-1]}]="$*"
}

buying='-o offers.csv -o more.csv -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C EUR'

a_run lot-norm export.csv '' lot-norm -m map.csv -n names.csv --keep-rows
a_run lot-norm:files /dev/null 'rejects.out unknown.out' \
	lot-norm --rejects rejects.out --known offers.csv --unknown unknown.out --model mill need.csv
a_run lot-norm:offers offers.csv '' lot-norm offers
a_run lot-norm:stock stock.csv '' lot-norm stock
a_run lot-norm:loose lines.txt '' lot-norm --loose
a_run lot-swap need.csv '' lot-swap -r swaps.csv
a_run lot-owned need.csv 'taken.out left.out' lot-owned -k stock.csv --taken taken.out --left left.out
# shellcheck disable=SC2086 # words
a_run lot-split need.csv 'short.out shares.out surplus.out report.out why.out curve.out' \
	lot-split $buying -k stock.csv --carry note --short short.out --shares shares.out --surplus surplus.out \
	--report report.out --why why.out --curve curve.out
# shellcheck disable=SC2086
a_run lot-split:keep need.csv '' lot-split $buying --keep kept.csv
a_run lot-total orders.csv '' \
	lot-total -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C EUR --each-charge --others others.csv
a_run lot-total:model orders.csv '' \
	lot-total -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C EUR --by model --shares shares.csv
a_run lot-compare /dev/null '' lot-compare one=totals.csv totals-2.csv
a_run lot-check orders.csv 'short.out into.out' lot-check -e orders.csv --all --short short.out --into into.out
a_run lot-deal orders.csv dealt lot-deal -d dealt
a_run lot-show:text orders.csv '' lot-show --group seller
a_run lot-show:markdown orders.csv '' lot-show --to markdown --group seller
a_run lot-show:html orders.csv '' lot-show --to html --group seller --title orders
a_run lot-show:sheet orders.csv '' lot-show --to sheet --locale de --group seller
# shellcheck disable=SC2086
a_run lot-gain need.csv '' lot-gain -r swaps.csv $buying --jobs 1
a_run lot-market /dev/null '' lot-market -o offers.csv -o more.csv -s sellers.csv -x rates.csv -C EUR
a_run lot-price need.csv '' lot-price --prices prices.csv -o offers.csv
# shellcheck disable=SC2086
a_run lot-drift orders.csv 'summary.out replan.out' lot-drift $buying --summary summary.out --replan replan.out
a_run lot-plot totals.csv '' lot-plot --label seller
a_run lot-plot:lines curve.csv '' lot-plot --kind lines
a_run lot-plot:pareto totals.csv '' lot-plot --kind pareto --label seller --columns goods

# fill NAME: the table on stdin, where @ stands for the name, as a field, and %@ for a pattern that matches it.
fill() {
	local quoted=\"${1//\"/\"\"}\" pattern=\"\\Q${1//\"/\"\"}\\E\" line
	while IFS= read -r line; do
		line=${line//%@/$'\1'}
		line=${line//@/$'\2'}
		line=${line//$'\1'/"$pattern"}
		printf '%s\n' "${line//$'\2'/"$quoted"}"
	done
}

runs_files() {
	local name=${1-Attic}

	fill "$name" >need.csv <<-'END'
		part,color,qty,lot,group,model,condition,not_color,penalty,worth,together,grams,note
		P-104,red,16,,house,mill,,,,,,1.6,
		P-201,any,40,,house,mill,,clear.*,,,,,
		P-330,brown,2,door,house,mill,,,,,,3,
		P-331,brown,2,door,house,mill,,,0.10,,,3,
		P-104,green,10,,,mill,new,,,0.08,,1.6,
		@,@,3,@,@,@,,,,,,2,@
		P-201,@,3,,@,@,,,,,,,@
	END
	fill "$name" >export.csv <<-'END'
		Element;Shade;Count;Bag
		P-104;red;16;1
		P-201;grey;1;1
		@;@;3;@
	END
	cat >map.csv <<-'END'
		column,pattern
		part,Element
		color,Shade
		qty,Count
	END
	fill "$name" >names.csv <<-'END'
		column,pattern,name
		color,grey,gray
		color,%@,gray
	END
	cat >lines.txt <<-'END'
		12x P-104 red
		P-201 gray (4)
		- 3 pcs P-330, brown
	END
	fill "$name" >swaps.csv <<-'END'
		rule,do,part,color,group,to_part,to_color,qty,penalty,must,note
		any color inside,use,P-201,%@,,,any,,,,
		@,may,%@,%@,%@,P-104,red,,0.05,,@
		spares,spare,P-104,red,house,,,5%,,,
	END
	fill "$name" >stock.csv <<-'END'
		part,color,qty,condition,place,grams
		P-201,gray,9,,drawer,0.7
		@,@,1,,@,2
		@,red,7,@,@,2
	END
	fill "$name" >offers.csv <<-'END'
		seller,part,color,qty,price,condition,class,step,least,listing,grams,note
		Counter,P-104,red,,0.09,,made,,,,1.6,
		Counter,P-330,brown,,0.41,new,,,,,,
		Counter,P-201,gray,,0.05,new,,,,,0.7,
		@,P-104,red,100,0.06,,@,,,,,@
		@,@,@,10,0.3,new,@,4,,@,,@
		@,@,@,10,0.25,new,@,4,8,@,,@
	END
	fill "$name" >more.csv <<-'END'
		seller,part,color,qty,price,condition,step,least
		Kiste,P-201,gray,200,0.02,,10,
		Kiste,P-201,@,200,0.03,,,
		Kiste,P-331,brown,4,0.2,new,,
		Kiste,P-104,green,40,0.07,new,,
	END
	fill "$name" >sellers.csv <<-'END'
		seller,route,currency,minimum,tax,tax_on,tariff
		Counter,direct,EUR,,21,all,
		Kiste,market,EUR,,19,included,letter
		@,market,GBP,0.50,5.3+0.7,goods,@
	END
	fill "$name" >charges.csv <<-'END'
		seller,tariff,class,charge,basis,from,over,amount,percent,taxed
		Counter,,made,handling,,,,0.30,,
		Counter,,made,handling,,12,,0,,
		,letter,,shipping,weight,,,0.95,,
		,letter,,shipping,weight,,2000,no,,
		,@,@,@,weight,,,0.45,,
		,@,,insurance,,25,,,1.5,no
	END
	printf '%s\n' from,to,rate GBP,EUR,1.168 >rates.csv
	fill "$name" >weights.csv <<-'END'
		part,grams
		P-104,1.6
		P-201,0.7
		P-330,3
		P-331,3
		@,2
	END
	# A blank more, since an item may not be called as a seller is.
	fill "$name " >others.csv <<-'END'
		item,amount,currency,tax
		instructions,12.50,EUR,7
		@,1,,
	END

	# shellcheck disable=SC2086 # words
	lot-split -q $buying -k stock.csv --carry note --shares shares.csv --curve curve.csv <need.csv >orders.csv &&
		lot-total -q -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C EUR <orders.csv >totals.csv &&
		cp totals.csv totals-2.csv &&
		lot-market -q -o offers.csv -o more.csv -s sellers.csv -x rates.csv -C EUR >prices.csv &&
		python3 - >kept.csv <<-'END'
			import csv, sys
			header, first, *_ = csv.reader(open("orders.csv", newline=""))
			csv.writer(sys.stdout, lineterminator="\n").writerows([header + ["state"], first + ["open"]])
		END
}

# runs_listed: the runs as a table: run, input, command.
runs_listed() {
	local run
	for run in "${RUNS[@]}"; do
		printf '%s\t%s\t%s\n' "$run" "${RUN_INPUT[$run]}" "${RUN_WORDS[$run]}"
	done
}

run_of() {
	local words
	read -ra words <<<"${RUN_WORDS[$1]}"
	try "${words[@]}" <"${RUN_INPUT[$1]}"
}
