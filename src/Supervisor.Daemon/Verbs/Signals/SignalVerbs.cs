using System.CommandLine;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Signals;

/// <summary><c>horn silence</c> and <c>lamps test</c>. Neither needs authority.</summary>
internal static class SignalVerbs
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Horn()
    {
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var silence = new Command("silence", "Silence the horn; it sounds again at the next alarm. Acknowledges nothing.") { json, server };
        silence.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var answer = await daemon.Signals.SilenceHornAsync(
                    new SilenceHornRequest { RequestedBy = By("horn silence") }, deadline: DateTime.UtcNow + Patience, cancellationToken: ends);
                return Print(answer.Message, parsed.GetValue(json));
            },
            cancellation));
        return new Command("horn", "The machine's horn. Not a safety function.") { silence };
    }

    public static Command Lamps()
    {
        var horn = new Option<bool>("--horn") { Description = "Sound the horn as well." };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var test = new Command("test", "Light every signal light for as long as the machine file says; look whether none is missing.") { horn, json, server };
        test.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var answer = await daemon.Signals.TestLampsAsync(
                    new TestLampsRequest { Horn = parsed.GetValue(horn), RequestedBy = By("lamps test") }, deadline: DateTime.UtcNow + Patience, cancellationToken: ends);
                return Print(answer.Message, parsed.GetValue(json));
            },
            cancellation));
        return new Command("lamps", "The machine's signal lights. Not a safety function: a light that is dark proves nothing.") { test };
    }

    /// <summary>Who asks, for the records.</summary>
    internal static string By(string verb) => $"{Environment.UserName} ({verb}, process {Environment.ProcessId})";

    internal static int Print(string message, bool json)
    {
        if (json)
        {
            JsonOut.Print(new MessageJson(message), JsonShapes.Readable.MessageJson);
        }
        else
        {
            Console.Out.WriteLine(message);
        }

        return ExitCode.Done;
    }
}
