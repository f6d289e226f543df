using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>What a scan tries.</summary>
/// <param name="Device">The port.</param>
/// <param name="Lines">Settings, in this order.</param>
/// <param name="First">First address.</param>
/// <param name="Last">Last address.</param>
/// <param name="Timeout">How long an answer may take.</param>
/// <param name="Tries">Requests to an address that is silent.</param>
/// <param name="All">Goes on with other settings though somebody answered.</param>
public sealed record ScanPlan(string Device, IReadOnlyList<LineSettings> Lines, int First, int Last, TimeSpan Timeout, int Tries, bool All)
{
    /// <summary>
    /// The register that is asked for. Slaves that follow their line take a request that nobody answered for the answer to the one before, and read as
    /// much as its third byte says: with 3 there it is just as long as a request, so that they keep in step. The others refuse it or have it.
    /// </summary>
    public const ushort Register = 0x0300;

    // A request for one register: eight characters.
    private const int RequestCharacters = 8;

    /// <summary>Addresses of one pass.</summary>
    public int Addresses => Last - First + 1;

    /// <summary>Time of the whole scan where nobody answers, which is the longest it takes but for what those who answer tell.</summary>
    public TimeSpan Longest => Lines.Aggregate(TimeSpan.Zero, (sum, line) => sum + Pass(line));

    /// <summary>Time of one pass where nobody answers.</summary>
    public TimeSpan Pass(LineSettings line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return Addresses * Tries * (line.CharacterTime(RequestCharacters) + Timeout);
    }
}

/// <summary>What one address said.</summary>
public enum ScanAnswer
{
    /// <summary>Nothing.</summary>
    Silent = 0,

    /// <summary>A whole answer, also a refusal.</summary>
    Answers = 1,

    /// <summary>Bytes, but never a whole answer.</summary>
    Garbled = 2,
}

/// <summary>An address that is not silent.</summary>
/// <param name="Address">The address.</param>
/// <param name="Answer">What it said.</param>
/// <param name="ExceptionCode">The exception with which it refused the register; 0 when it did not.</param>
/// <param name="Time">From the first byte asked to the answer; zero without one.</param>
/// <param name="Garbled">Requests to which bytes came that were no answer.</param>
/// <param name="Identity">What it tells of itself; null when it tells nothing.</param>
public sealed record ScannedAddress(byte Address, ScanAnswer Answer, byte ExceptionCode, TimeSpan Time, int Garbled, IdentificationReading? Identity);

/// <summary>One pass.</summary>
/// <param name="Line">Its settings.</param>
/// <param name="Tried">Addresses that were asked.</param>
/// <param name="Found">Those that are not silent.</param>
/// <param name="Problem">Why it could not be done, or not to its end; empty when it was.</param>
/// <param name="HearsItself">The adapter hears its own requests.</param>
public sealed record ScannedLine(LineSettings Line, int Tried, IReadOnlyList<ScannedAddress> Found, string Problem, bool HearsItself);
