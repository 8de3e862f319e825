"""Strings that a client might type and that must stay plain text in every output.

`HOSTILE` may stand in a brief (quoted). `REFUSED` may not: the brief room refuses them. Texts also come from imports
and other files, so a writer of an output meets both: `EVERYTHING`.
"""

HOSTILE: tuple[str, ...] = (
    # HTML, SVG and XML
    "<script>alert(1)</script>",
    "</text></svg><script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "' onload='alert(1)",
    "&lt;b&gt; &amp; &#60;script&#62; &nbsp;",
    "<!-- --> <![CDATA[ ]]> ]]>",
    '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>&e;',
    "javascript:alert(1)",
    "</style><style>*{display:none}</style>",
    # templates and typesetting
    "{{ 7 * 7 }} {% raw %} ${7*7} #{7*7} <%= 7*7 %>",
    '#read("/etc/hostname") #panic("x")',
    "$ sum_(i=0)^n $ *bold* _slanted_ = heading @label <label> `code`",
    "\\end{document} \\input{x} % comment ~ ^ \\",
    "%s %d %n %(name)s {0} {name} {x.__class__}",
    # Markdown
    "# heading | cell | [link](javascript:alert(1)) ![x](http://client.example/x.png)",
    "``` fence ~~~",
    "a | b \\| c",
    # spreadsheets and comma-separated files
    "=1+1",
    "=cmd|'/c calc'!A1",
    "+1+1",
    "-1+1",
    "@SUM(1,1)",
    'a,b;"c"',
    # shells, filters, servers' files
    "$(touch x); `touch x` && touch x | touch x > x",
    "'; DROP TABLE sites; --",
    "} accept; {",
    'x"; include "/etc/hostname',
    "*)(uid=*))(|(uid=*",
    "cn=admin,dc=client,dc=example",
    "# comment // comment /* comment */ ; comment",
    # names of files and paths
    "../../../../etc/hostname",
    "/etc/hostname",
    "C:\\con\\nul",
    ".",
    "..",
    "-rf",
    # YAML
    "yes: no",
    "- item",
    "&anchor *alias !tag !!python/object/apply:os.system",
    "key: [unclosed",
    "--- ...",
    "# not a comment",
    # letters
    "Ó Súilleabháin, Ærøskøbing, Łódź, Ünïcödé",
    "Αθήνα Москва 東京 القاهرة עברית हिन्दी",
    "\U0001f600 \U0001f468\u200d\U0001f469\u200d\U0001f467 \U00020000",
    "e\u0301 \u00e9 \ufb01 \uff11\uff12 \u00bd \u2126",
    "zero\u200bwidth and no\u00a0break",
    "a" + "\u0301" * 40,
    "W" * 200,
    "no spaces at all " * 11,
    "'\"`\u2019\u201c\u201d",
    "   ends with spaces   ",
    "0",
    "00123",
    "1e999",
    "NaN",
    "None",
    "undefined",
)
"""One line each, at most 200 letters."""

REFUSED: tuple[str, ...] = (
    "",
    "   ",
    "two\nlines",
    "two\r\nlines",
    "a tab\there",
    "Host: client.example\r\nX-Injected: 1",
    "nul\x00here",
    "bell\x07here",
    "\x1b[31mred\x1b[0m",
    "delete\x7f",
    "next line\x85here",
    "line\u2028and paragraph\u2029separators",
    "turned \u202egnp.exe",
    "isolated \u2066text\u2069",
    "half \ud800 of a pair",
    "not a character \ufffe \uffff",
    "W" * 201,
)
"""Control characters, line breaks, invisible turns of direction, nothing at all, more than 200 letters."""

EVERYTHING: tuple[str, ...] = HOSTILE + REFUSED
"""What an output must survive, wherever the text came from."""
