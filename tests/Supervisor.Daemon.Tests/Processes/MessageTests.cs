using System.Text.Json;
using System.Text.RegularExpressions;
using Supervisor.Daemon.Tests.Messages;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>
/// Faults on a real daemon while nobody listens at the mail server's port and the webhook's, with the daemon killed in between: once both listen, each incident arrives
/// there once.
/// </summary>
[Collection(ProcessTests.Name)]
public sealed partial class MessageTests : IDisposable
{
    private const string Password = "correct-horse-9471";
    private const string Key = "signing-key-5520";

    private readonly DirectoryInfo _credentials = Directory.CreateTempSubdirectory("credentials-");
    private readonly MailSink _mail = new();
    private readonly RequestSink _hook = new();

    public void Dispose()
    {
        _mail.Dispose();
        _hook.Dispose();
        _credentials.Delete(recursive: true);
    }

    [Fact]
    public async Task NetworkDownAndDaemonKilled_EachIncidentArrivesOnce()
    {
        await File.WriteAllTextAsync(Path.Combine(_credentials.FullName, "mail-password"), Password, TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(Path.Combine(_credentials.FullName, "hook-key"), Key, TestContext.Current.CancellationToken);
        _mail.TakeDown();
        _hook.TakeDown();
        await using var trial = await TrialMachine.StartAsync(WithChannels, new Dictionary<string, string> { ["CREDENTIALS_DIRECTORY"] = _credentials.FullName });

        trial.Bench("fault gantry 0x7121");
        await SeeWaitingAsync(trial, "MOTOR_BLOCKED");
        await trial.KillServeAsync();
        trial.StartServe();
        trial.Bench("fault tray 0x3220");
        await SeeWaitingAsync(trial, "UNDER_VOLTAGE");
        var down = (await trial.RunAsync("status")).Output;
        Assert.Contains("does not get through", down, StringComparison.Ordinal);
        Assert.Empty(_mail.Mails);
        await trial.KillServeAsync();
        _mail.BringUp();
        _hook.BringUp();
        trial.StartServe();

        // A computer that stalls may make incidents of its own meanwhile; each of these is told as well.
        long[] incidents = [];
        await trial.UntilAsync("every incident told", async () =>
        {
            incidents = await IncidentsAsync(trial);
            return incidents.Length > 1 && incidents.All(number => Mailed(number) > 0 && Posted(number) > 0);
        });
        Assert.All(incidents, number => Assert.Equal((1, 1), (Mailed(number), Posted(number))));
        await SeeOutboxAsync(trial, incidents);

        var tried = await trial.RunAsync("messages", "test");
        Assert.True(tried.ExitCode == 0, tried.ToString());
        Assert.Contains("night: taken", tried.Output, StringComparison.Ordinal);
        Assert.Contains(_hook.Requests, request => request.Body.Contains("\"kind\":\"trial\"", StringComparison.Ordinal));
        await NoSecretsAsync(trial, down);
    }

    private static async Task SeeWaitingAsync(TrialMachine trial, string fault)
    {
        await trial.UntilAsync($"{fault} in the history", async () => (await trial.RunAsync("incident", "--json", "--limit", "100")).Output.Contains($"\"{fault}\"", StringComparison.Ordinal));
        await trial.UntilAsync("a message for each incident waiting on both channels", async () =>
        {
            var incidents = await IncidentsAsync(trial);
            var waiting = JsonDocument.Parse((await trial.RunAsync("messages", "--waiting", "--json", "--limit", "100")).Output).RootElement;
            return waiting.TryGetProperty("messages", out var messages)
                && incidents.All(number => messages.EnumerateArray().Count(message => message.GetProperty("incident").GetInt64() == number) == 2);
        });
        await trial.SeeAsync("both channels failing", status => status.GetProperty("messageChannels").EnumerateArray().All(channel => channel.GetProperty("failingForS").ValueKind == JsonValueKind.Number));
    }

    private static async Task SeeOutboxAsync(TrialMachine trial, long[] incidents)
    {
        JsonElement[] messages = [];
        await trial.UntilAsync("all noted as sent", async () =>
        {
            messages = [.. JsonDocument.Parse((await trial.RunAsync("messages", "--json", "--limit", "100")).Output).RootElement.GetProperty("messages").EnumerateArray()];
            return messages.Where(message => incidents.Contains(message.GetProperty("incident").GetInt64())).All(message => message.GetProperty("state").GetString() == "sent");
        });
        Assert.Equal(messages.Length, messages.Select(message => message.GetProperty("identity").GetString()).Distinct().Count());
    }

    private async Task NoSecretsAsync(TrialMachine trial, string status)
    {
        var told = trial.Serve.Error + status + (await trial.RunAsync("check", trial.MachineFile)).Output;
        foreach (var file in Directory.EnumerateFiles(trial.StateFolder, "history.db*").Where(file => !file.EndsWith(".lock", StringComparison.Ordinal)))
        {
            told += System.Text.Encoding.Latin1.GetString(await ReadSharedAsync(file));
        }

        Assert.Contains("night", told, StringComparison.Ordinal);
        Assert.DoesNotContain(Password, told, StringComparison.Ordinal);
        Assert.DoesNotContain(Key, told, StringComparison.Ordinal);
        Assert.All(_mail.Logins, login => Assert.Equal($"machine {Password}", login));
        Assert.All(_hook.Requests, request => Assert.StartsWith("sha256=", request.Headers["X-Signature-256"], StringComparison.Ordinal));
    }

    private static async Task<byte[]> ReadSharedAsync(string path)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        using var bytes = new MemoryStream();
        await file.CopyToAsync(bytes, TestContext.Current.CancellationToken);
        return bytes.ToArray();
    }

    private static async Task<long[]> IncidentsAsync(TrialMachine trial)
    {
        var said = await trial.RunAsync("incident", "--json", "--limit", "100");
        return said.ExitCode != 0 ? [] : [.. JsonDocument.Parse(said.Output).RootElement.GetProperty("incidents").EnumerateArray().Select(incident => incident.GetProperty("number").GetInt64())];
    }

    private int Mailed(long incident) => _mail.Mails.Count(mail => Command().Match(mail) is { Success: true } found && found.Groups[1].Value == $"{incident}");

    private int Posted(long incident) => _hook.Requests.Count(request =>
        JsonDocument.Parse(request.Body).RootElement is var body && body.GetProperty("kind").GetString() == "incident" && body.GetProperty("incident").GetProperty("number").GetInt64() == incident);

    private string WithChannels(string file) => file.Replace(
        "\"machine\":",
        $$"""
        "history": { "incidentWindowMs": 500 },
          "messages": [
            { "name": "night", "settleSeconds": 1, "perHour": 120, "email": { "server": "127.0.0.1", "port": {{_mail.Port}}, "security": "none",
              "from": "machine@plant.example", "to": ["night@plant.example"], "user": "machine", "passwordFile": "mail-password" } },
            { "name": "desk", "settleSeconds": 1, "perHour": 120, "webhook": { "url": "http://127.0.0.1:{{_hook.Port}}/incidents", "signatureKeyFile": "hook-key" } } ],
          "machine":
        """,
        StringComparison.Ordinal);

    [GeneratedRegex("^At the machine's computer: axis-supervisor incident (\\d+)$", RegexOptions.Multiline)]
    private static partial Regex Command();
}
