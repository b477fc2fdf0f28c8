-- one row per pass of the sessions looked at
SELECT row, session, pass, mass_in_g::DOUBLE AS mass_in_g, wax_out_g::DOUBLE AS wax_out_g, residue_g::DOUBLE AS residue_g
FROM passes SEMI JOIN sessions_to_balance USING (session) ORDER BY row
