#!/bin/sh
# Writes one line: the job, its verdict, and how many series and observations the record holds.
# The program writes its JSON with one key a line where it is indented, so that sed can find it.

# The value of a text, or of a number, in a request: paths in it have no special characters.
text() { printf '%s\n' "$ask" | sed -n "s/.*\"$1\":\"\([^\"]*\)\".*/\1/p"; }
number() { printf '%s\n' "$ask" | sed -n "s/.*\"$1\":\([0-9]*\).*/\1/p"; }

read -r hello # the host's hello
echo '{"type":"hello","protocol":1,"name":"one-line","version":"1.0"}'
while read -r ask; do
    request=$(number request)
    verdict=$(sed -n 's/^  "verdict": "\(.*\)",*$/\1/p' "$(text assessment)" | head -n 1)
    count() { sed -n "/^  \"$1\": \[\$/,/^  \]/p" "$(text record)" | grep -c '^    {'; }
    stem=$(text stem)
    printf '%s: %s (%s series, %s observations)\n' \
        "$stem" "${verdict:-not said}" "$(count series)" "$(count observations)" > "$(text out)/$stem.line.txt"
    printf '{"type":"done","request":%s,"artifacts":[{"path":"%s","media_type":"text/plain"}]}\n' \
        "$request" "$stem.line.txt"
done
