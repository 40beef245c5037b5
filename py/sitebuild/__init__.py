"""Makes dist/: the runtime, the assets, the static pages.

runtime.py   what runs Python in the browser, made and proved in Pyodide under Node
assets.py    content-hashed names, the licences
pages.py     the static pages, drawn by the runtime that ships
server.py    a plain file server for trying dist/ and for the tests
"""
