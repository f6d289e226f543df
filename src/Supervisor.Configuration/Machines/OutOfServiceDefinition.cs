namespace Supervisor.Configuration.Machines;

/// <summary>How long alarms may be out of service.</summary>
/// <param name="Longest">The longest time for which a person can take an alarm out of service; it comes back by itself.</param>
public sealed record OutOfServiceDefinition(TimeSpan Longest)
{
    /// <summary>What holds where the file says nothing: a shift.</summary>
    public static OutOfServiceDefinition Default { get; } = new(TimeSpan.FromHours(8));
}
