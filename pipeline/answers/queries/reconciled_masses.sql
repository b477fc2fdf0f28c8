-- one row per mass cell with its reconciled mass, g: logs $1, their rows $2, columns $3, masses $4
SELECT unnest($1::VARCHAR[]) AS log, unnest($2::INTEGER[]) AS cell, unnest($3::VARCHAR[]) AS column_name,
    unnest($4::DOUBLE[]) AS mass
