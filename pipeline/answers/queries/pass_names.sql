-- one row per pass in the rows $1 of its log: what it is called
SELECT row, session, pass FROM passes WHERE row IN (SELECT unnest($1::INTEGER[]))
