"""A review as one HTML file: text that can be read, searched and enlarged, its pictures inside it.

Nothing in it points outside: no script, no font, no link. It prints as it stands.
"""

from base64 import b64encode
from html import escape
from typing import Final

from studiolog.paper.review_blocks import Block, Entry, PicturePair, ReviewPaper, Row, Side

_STYLE: Final = """
:root { color-scheme: light; }
body { margin: 0 auto; padding: 2rem 1.5rem 4rem; max-width: 60rem; color: #1c1917;
  background: #fbf8f1; font: 1rem/1.5 Inter, "Segoe UI", "Helvetica Neue", Helvetica, Arial,
  sans-serif; font-variant-numeric: tabular-nums; }
header p { margin: 0; color: #4a433b; }
h1 { margin: .2rem 0 1.5rem; font-size: 1.9rem; line-height: 1.2; }
section { margin-top: 2rem; border-top: 1.5px solid #1c1917; }
h2 { margin: .5rem 0 .8rem; font-size: 1.1rem; display: flex; flex-wrap: wrap; gap: 1rem;
  justify-content: space-between; align-items: baseline; }
h2 small { font-weight: 400; color: #686055; font-size: .85rem; }
.figures { display: flex; flex-wrap: wrap; gap: 1rem 2.5rem; margin: 0; }
.figures dt, .figures dd { margin: 0; }
.figures dt, .quiet { color: #686055; font-size: .85rem; }
.figures dd { font-size: 1.5rem; font-weight: 600; }
.figures dd + dd { font-size: .8rem; font-weight: 400; color: #686055; }
table { width: 100%; border-collapse: collapse; }
th, td { padding: .3rem .8rem .3rem 0; border-bottom: 1px solid #dcd3c3; text-align: left;
  vertical-align: baseline; font-weight: 400; }
td.value { text-align: right; font-weight: 600; white-space: nowrap; }
ul { list-style: none; margin: 0; padding: 0; }
li { margin: 0 0 .9rem; }
li p { margin: 0; }
.pairs { display: grid; grid-template-columns: repeat(auto-fill, minmax(19rem, 1fr)); gap: 1.5rem; }
.pair { margin: 0; break-inside: avoid; }
.pair div { display: grid; grid-template-columns: 1fr 1fr; gap: .35rem; }
.pair figure { margin: 0; }
.pair img, .missing { width: 100%; aspect-ratio: 1; object-fit: cover; display: block; }
.missing { border: 1px dashed #908574; display: grid; place-items: center; color: #686055;
  box-sizing: border-box; }
figcaption { font-size: .85rem; color: #4a433b; }
@page { margin: 14mm; }
@media print { body { background: #fff; padding: 0; max-width: none; font-size: 10pt; }
  section, li, tr { break-inside: avoid-page; } section { break-inside: auto; }
  h2 { break-after: avoid; } .pairs { grid-template-columns: 1fr 1fr; } }
"""


def write_review_html(paper: ReviewPaper, language: str = "en") -> str:
    """The whole document."""
    title = f"{paper.title}, {paper.studio}" if paper.studio else paper.title
    studio = f"<p>{_text(paper.studio)}</p>" if paper.studio else ""
    rows = [
        "<!DOCTYPE html>",
        f'<html lang="{language}">',
        '<head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{_text(title)}</title>",
        f"<style>{_STYLE.strip()}</style></head>",
        f"<body><header>{studio}<h1>{_text(paper.title)}</h1></header>",
        "<main>",
        *(_section(block) for block in paper.blocks),
    ]
    if not paper.blocks:
        rows.append("<p>Nothing was chosen to stand here.</p>")
    rows += [f'<p class="quiet">{_text(remark)}</p>' for remark in paper.remarks]
    rows += ["</main></body></html>", ""]
    return "\n".join(rows)


def _section(block: Block) -> str:
    quiet = f"<small>{_text(block.quiet)}</small>" if block.quiet else ""
    rows = [f"<section><h2>{_text(block.title)}{quiet}</h2>"]
    if block.figures:
        rows.append(f'<dl class="figures">{"".join(map(_figure, block.figures))}</dl>')
    if block.rows:
        rows.append(f"<table><tbody>{''.join(map(_row, block.rows))}</tbody></table>")
    if block.entries:
        rows.append(f"<ul>{''.join(map(_entry, block.entries))}</ul>")
    if block.pairs:
        rows.append(f'<div class="pairs">{"".join(map(_pair, block.pairs))}</div>')
    rows.append("</section>")
    return "\n".join(rows)


def _figure(row: Row) -> str:
    quiet = f"<dd>{_text(row.quiet)}</dd>" if row.quiet else ""
    return f"<div><dt>{_text(row.words)}</dt><dd>{_text(row.value)}</dd>{quiet}</div>"


def _row(row: Row) -> str:
    return (
        f'<tr><th scope="row">{_text(row.words)}</th><td class="value">{_text(row.value)}</td>'
        f'<td class="quiet">{_text(row.quiet)}</td></tr>'
    )


def _entry(entry: Entry) -> str:
    text = entry.text or entry.where
    where = " · ".join(filter(None, (entry.where if entry.text else "", entry.quiet)))
    quiet = f'<p class="quiet">{_text(where)}</p>' if where else ""
    return f"<li><p>{_text(text)}</p>{quiet}</li>"


def _pair(pair: PicturePair) -> str:
    sides = "".join(_side(side, pair.words) for side in (pair.before, pair.after))
    return (
        f'<figure class="pair"><div>{sides}</div>'
        f"<figcaption>{_text(pair.words)}</figcaption></figure>"
    )


def _side(side: Side, of_what: str) -> str:
    if side.jpeg:
        says = escape(f"{of_what}, {side.words}", quote=True)
        shown = f'<img alt="{says}" src="data:image/jpeg;base64,{b64encode(side.jpeg).decode()}">'
    else:
        shown = '<div class="missing">photo missing</div>'
    return f'<figure>{shown}<figcaption class="quiet">{_text(side.words)}</figcaption></figure>'


def _text(words: str) -> str:
    """Words as HTML holds them; signs that have no meaning there are left out."""
    kept = "".join(sign for sign in words if sign >= " " or sign in "\n\t")
    return escape(kept, quote=False).replace("\n", "<br>")
