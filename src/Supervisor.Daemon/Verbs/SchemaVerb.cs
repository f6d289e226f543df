using System.CommandLine;
using Supervisor.Configuration;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>schema machine|drive|routine</c>.</summary>
internal static class SchemaVerb
{
    public static Command Build()
    {
        var kind = new Argument<string>("KIND") { Description = "machine, drive or routine." };
        kind.AcceptOnlyFromAmong("machine", "drive", "routine");
        var verb = new Command("schema", "Print the JSON Schema of a kind of file, for editors.") { kind };
        verb.SetAction(parsed =>
        {
            Console.Out.WriteLine(parsed.GetRequiredValue(kind) switch
            {
                "machine" => Schemas.Machine,
                "drive" => Schemas.Drive,
                _ => Schemas.Routine,
            });
            return ExitCode.Done;
        });
        return verb;
    }
}
