namespace Supervisor.Scenarios.World;

/// <summary>What can happen to one request besides the noise of a wire.</summary>
public enum InterferenceKind
{
    None = 0,

    /// <summary>The drive never hears it.</summary>
    LoseRequest = 1,

    /// <summary>The drive obeys, its answer is lost.</summary>
    LoseReply = 2,

    /// <summary>The drive refuses with an exception.</summary>
    Exception = 3,
}

/// <summary>What happens to one request.</summary>
/// <param name="Kind">Which.</param>
/// <param name="Code">Exception code of a refusal.</param>
public readonly record struct Interference(InterferenceKind Kind, byte Code)
{
    public static Interference None => default;

    public static Interference LostRequest => new(InterferenceKind.LoseRequest, 0);

    public static Interference LostReply => new(InterferenceKind.LoseReply, 0);

    public static Interference Refused(byte code) => new(InterferenceKind.Exception, code);
}
