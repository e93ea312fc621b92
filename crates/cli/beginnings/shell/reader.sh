#!/bin/sh
# Reads a log whose rows are: point, mode, voltage in kV with its sign, number of discharges.
#
# Standard output is for lines of the protocol alone; print to standard error for people.
# Quantities are decimal text, as the log has them; rows are physical lines and count from 1.

read -r hello # the host's hello; your answer says which protocol you speak
echo '{"type":"hello","protocol":1,"name":"FORMAT_NAME","version":"0.1"}'

while read -r ask; do
    request=$(printf '%s\n' "$ask" | sed -n 's/.*"request":\([0-9]*\).*/\1/p')
    # The path of the copy that you are given has no special characters.
    input=$(printf '%s\n' "$ask" | sed -n 's/.*"input":"\([^"]*\)".*/\1/p')
    LC_ALL=C awk -v request="$request" '
        function say(kind, rest) { print "{\"type\":\"" kind "\",\"request\":" request rest "}" }
        { sub(/\r$/, "") }
        # Every row is used, set aside, preamble (before the table), footer (after it) or blank.
        /^[ \t]*$/ { blank++; next }
        /^#/ { preamble++; next }
        # Only letters, digits and signs pass: nothing here has to be escaped for JSON.
        NF == 4 && $1 ~ /^[A-Za-z0-9_-]+$/ && $2 ~ /^(contact|air|hcp|vcp)$/ &&
        $3 ~ /^[+-][0-9]+(\.[0-9]+)?$/ && $4 ~ /^[0-9]+$/ && length($4) < 7 {
            used++
            say("record", ",\"record\":{\"series\":[{\"point\":\"" $1 "\",\"application\":\"" $2 \
                "\",\"polarity\":\"" (substr($3, 1, 1) == "+" ? "positive" : "negative") \
                "\",\"voltage_kv\":\"" substr($3, 2) "\",\"count\":" ($4 + 0) ",\"origin\":\"0:" NR "\"}]}")
            next
        }
        {
            aside++
            say("set_aside", ",\"row\":" NR ",\"code\":\"not-understood\"" \
                ",\"message\":\"the row is not: point, mode, voltage with its sign, count\"")
        }
        END {
            say("account", ",\"total\":" NR ",\"used\":" used + 0 ",\"set_aside\":" aside + 0 \
                ",\"preamble\":" preamble + 0 ",\"blank\":" blank + 0)
            say("done", "")
        }' < "$input"
done
