namespace Supervisor.Configuration.Drives;

/// <summary>
/// A device tells what it is by function 43, interface 14 (MODBUS Application Protocol V1.1b3, 6.21), and what it must tell to be taken for the one that is
/// meant. Texts are compared letter by letter, blanks and zeros at their ends aside.
/// </summary>
/// <param name="Vendor">Object 0; null: any.</param>
/// <param name="Product">Object 1; null: any.</param>
/// <param name="Revisions">Object 2, one of these; empty: any.</param>
public sealed record IdentificationDefinition(string? Vendor, string? Product, IReadOnlyList<string> Revisions)
{
    // Address, function, six bytes of the reply's head, number and length of three objects, CRC.
    private const int FrameBytes = 8 + (3 * 2) + 2;

    /// <summary>Bytes of the reply by which it is told, at least: what is not named here counts nothing.</summary>
    public int LeastReplyBytes => FrameBytes + (Vendor?.Length ?? 0) + (Product?.Length ?? 0) + Revisions.Select(revision => revision.Length).DefaultIfEmpty(0).Max();
}
