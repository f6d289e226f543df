namespace Supervisor.Records.Faults;

/// <summary>What is said, wherever it is found, of an adapter that hears what it sends.</summary>
public static class SelfHearing
{
    /// <summary>What it is.</summary>
    public const string Finding = "the adapter hears its own requests: each comes back ahead of its answer";

    /// <summary>What to do about it.</summary>
    public const string Advice =
        "let its receiver off while it sends: by the adapter's echo switch or jumper, or, where the port's driver switches the RS-485 direction, by rs485 of the port in the machine file";
}
