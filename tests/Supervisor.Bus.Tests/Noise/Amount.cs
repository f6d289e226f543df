namespace Supervisor.Bus.Tests.Noise;

/// <summary>How much random tests do: as much as a build has time for, or the whole with <c>SUPERVISOR_LONG=1</c>.</summary>
internal static class Amount
{
    public static bool IsLong { get; } = Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1";

    public static int Of(int usual, int whole) => IsLong ? whole : usual;
}
