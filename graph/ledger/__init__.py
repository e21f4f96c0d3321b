"""The ledger: every note of the shop, append-only and hash-chained; graph, search and exports are views of it.

`book.Ledger` writes and reads notes in SQL, `view.View` keeps them as queryable RDF, `query.QueryRunner`
answers free SPARQL in a child process that can be killed. Nothing here knows HTTP.
"""
