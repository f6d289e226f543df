using System.Reflection;

namespace Supervisor.Daemon.Hosting;

/// <summary>Version of this program.</summary>
internal static class ProgramVersion
{
    public static string Text { get; } =
        typeof(ProgramVersion).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "unknown";
}
