"""How the page looks: one sheet for screens, light and dark, and for paper."""

STYLE = """
:root { color-scheme: light dark; --ink: #1b1b1b; --paper: #fdfcf9; --line: #767672; --pale: #efede6; --link: #17418a;
  --mark: #6c8f7d; --heavy: #9a3b1f; --faint: #5d5d59 }
@media (prefers-color-scheme: dark) {
  :root { --ink: #eceae4; --paper: #1a1c1e; --line: #8b8e91; --pale: #26292c; --link: #9cc1ff;
    --mark: #5f8774; --heavy: #ff9a76; --faint: #b0b0ab }
}
@media print {
  :root { color-scheme: light; --ink: #000; --paper: #fff; --line: #555; --pale: #fff; --link: #000; --mark: #9db5a8;
    --heavy: #000; --faint: #444 }
  body { padding: 0; font-size: 10pt } figure, tr, li { break-inside: avoid } h2 { break-after: avoid }
}
* { box-sizing: border-box }
body { margin: 0 auto; max-width: 78rem; padding: 1rem clamp(1rem, 3vw, 3rem) 3rem; color: var(--ink);
  background: var(--paper); font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: anywhere }
h1 { margin: 0; font-size: 1.7rem } h2 { margin: 2rem 0 .6rem; border-bottom: 1px solid var(--line) }
h3 { margin: 1rem 0 .2rem; font-size: 1rem } p, ul { margin: .3rem 0; max-width: 75ch }
code, pre { font: .9em/1.4 ui-monospace, monospace; background: var(--pale) } code { padding: 0 .2em }
pre { margin: .3rem 0; padding: .5rem .7rem; overflow-x: auto; white-space: pre-wrap; overflow-wrap: anywhere }
.wide { overflow-x: auto; overflow-wrap: normal } table { border-collapse: collapse }
th, td { padding: .25rem .7rem .25rem 0; text-align: left; vertical-align: top; border-bottom: 1px solid var(--pale) }
th { font-weight: 600; border-bottom-color: var(--line) } td.n { text-align: right; font-variant-numeric: tabular-nums }
.charts { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(20rem, 100%), 1fr)); gap: 1rem 1.5rem }
figure { margin: 0 } figcaption { font-size: .92rem } figure svg { width: 100%; max-width: 26rem; height: auto }
svg text { font: 11px system-ui, sans-serif; fill: var(--ink) } svg .mid { text-anchor: middle }
td code { display: block; padding: .2em .4em; white-space: pre }
svg .end { text-anchor: end } svg .small { font-size: 10px } svg .faint { fill: var(--faint) }
svg .bar { fill: var(--mark) } svg .axis { fill: none; stroke: var(--line) }
svg .line { fill: none; stroke: var(--ink) }
svg .limit { fill: none; stroke: var(--heavy); stroke-width: 1.6; stroke-dasharray: 5 3 }
svg .tick { stroke: var(--ink); stroke-width: 2 } svg .dot { fill: var(--mark); fill-opacity: .55 }
svg .front { fill: none; stroke: var(--heavy); stroke-width: 1.4 }
svg .offer { fill: none; stroke: var(--heavy); stroke-width: 1.8 }
.care { padding: .5rem .8rem; border-left: 4px solid var(--line); background: var(--pale) }
.faint { color: var(--faint) } a { color: var(--link) }
"""
