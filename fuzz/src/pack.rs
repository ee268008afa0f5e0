//! Many small inputs in one file: for each its length, four bytes with the low one first, and its bytes.

/// One file's bytes.
pub fn packed(inputs: &[Vec<u8>]) -> Vec<u8> {
    inputs.iter().flat_map(|i| (i.len() as u32).to_le_bytes().into_iter().chain(i.iter().copied())).collect()
}

/// The inputs of a file.
///
/// # Errors
/// The file ends inside an input.
pub fn unpacked(mut bytes: &[u8]) -> Result<Vec<Vec<u8>>, String> {
    let mut inputs = vec![];
    while !bytes.is_empty() {
        let (length, rest) = bytes.split_first_chunk().ok_or("The corpus is cut short.")?;
        let (input, rest) =
            rest.split_at_checked(u32::from_le_bytes(*length) as usize).ok_or("An input is cut short.")?;
        inputs.push(input.to_vec());
        bytes = rest;
    }
    Ok(inputs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inputs_come_back_and_cut_files_are_told() {
        let inputs = vec![vec![1, 2, 3], vec![], vec![9; 700]];
        let bytes = packed(&inputs);
        assert_eq!(unpacked(&bytes), Ok(inputs));
        assert!(unpacked(&bytes[..bytes.len() - 1]).is_err() && unpacked(&[1, 0]).is_err());
    }
}
