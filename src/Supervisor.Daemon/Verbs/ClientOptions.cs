using System.CommandLine;

namespace Supervisor.Daemon.Verbs;

/// <summary>Options that client verbs share. Made anew for each verb.</summary>
internal static class ClientOptions
{
    public static Option<string?> Server() => new("--server")
    {
        Description = "Socket of the daemon; otherwise AXIS_SUPERVISOR_SERVER, otherwise the usual places.",
        HelpName = "PATH",
    };

    public static Option<string> Language() => new("--language")
    {
        Description = "Language of the machine file's texts, such as de; otherwise, and where it has not got it, the file's first.",
        HelpName = "TAG",
        DefaultValueFactory = _ => "",
    };

    public static Option<bool> Json() => new("--json") { Description = "Print JSON, for programs." };

    public static Option<bool> NoWait() => new("--no-wait")
    {
        Description = "Return once the command is accepted; it then runs on without a holder of authority.",
    };

    public static Argument<string[]> Axes(string whenNone) => new("AXIS")
    {
        Description = $"Names of axes; without any: {whenNone}.",
        Arity = ArgumentArity.ZeroOrMore,
    };
}
