"""Makes dist/: the runtime, the assets, the static pages.

runtime.py       what runs Python in the browser, made and proved in Pyodide under Node
made_ready.py    what a start need not work out anew; recorder.py watches a start for it
recipe_files.py  the recipes of a site
assets.py        content-hashed names
pages.py         the static pages, drawn by the runtime that ships
publish.py       what a published site has besides
offline.py       the list of what is kept on the device
server.py        a plain file server for trying dist/ and for the tests
"""
