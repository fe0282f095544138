"""How a study's report looks beside what all pages have: tables, charts, on screens, light and dark, and on paper."""

STYLE = """
:root { --mark: #6c8f7d; --heavy: #9a3b1f; --faint: #5d5d59 }
@media (prefers-color-scheme: dark) { :root { --mark: #5f8774; --heavy: #ff9a76; --faint: #b0b0ab } }
@media print { :root { --mark: #9db5a8; --heavy: #000; --faint: #444 } }
body { max-width: 78rem } ul { margin: .3rem 0; max-width: 75ch }
code, pre { font: .9em/1.4 ui-monospace, monospace; background: var(--pale) } code { padding: 0 .2em }
pre { margin: .3rem 0; padding: .5rem .7rem; overflow-x: auto; white-space: pre-wrap; overflow-wrap: anywhere }
.wide { overflow-x: auto; overflow-wrap: normal } table { border-collapse: collapse }
th, td { padding: .25rem .7rem .25rem 0; text-align: left; vertical-align: top; border-bottom: 1px solid var(--pale) }
th { font-weight: 600; border-bottom-color: var(--line) } td.n { text-align: right; font-variant-numeric: tabular-nums }
.charts { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(20rem, 100%), 1fr)); gap: 1rem 1.5rem }
figure { margin: 0 } figcaption { font-size: .92rem } figure svg { width: 100%; max-width: 26rem; height: auto }
svg text { font: 11px system-ui, sans-serif; fill: var(--ink) } svg .mid { text-anchor: middle }
td code { display: block; padding: .2em .4em; white-space: pre }
@media (max-width: 48rem) {
  .coded, .coded :is(tbody, tr) { display: block } .coded thead { position: absolute; clip-path: inset(50%) }
  .coded tr { padding: .4rem 0; border-bottom: 1px solid var(--line) }
  .coded td { display: grid; grid-template-columns: 1fr minmax(auto, 50%); gap: .7rem; padding: .1rem 0; border: 0 }
  .coded td::before { content: attr(data-name); color: var(--faint) }
  .coded td:last-child { display: block } .coded td:last-child::before { content: none }
  td code { white-space: pre-wrap }
}
svg .end { text-anchor: end } svg .small { font-size: 10px } svg .faint { fill: var(--faint) }
svg .bar { fill: var(--mark) } svg .axis { fill: none; stroke: var(--line) }
svg .line { fill: none; stroke: var(--ink) }
svg .limit { fill: none; stroke: var(--heavy); stroke-width: 1.6; stroke-dasharray: 5 3 }
svg .tick { stroke: var(--ink); stroke-width: 2 } svg .dot { fill: var(--mark); fill-opacity: .55 }
svg .front { fill: none; stroke: var(--heavy); stroke-width: 1.4 }
svg .offer { fill: none; stroke: var(--heavy); stroke-width: 1.8 }
.faint { color: var(--faint) }
"""
